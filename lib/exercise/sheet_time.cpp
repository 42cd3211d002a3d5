// SPDX-License-Identifier: GPL-3.0-or-later
#include "exercise/sheet_time.hpp"

#include "exercise/sheet_words.hpp"

#include <charconv>
#include <chrono>
#include <cmath>
#include <vector>

namespace lull {
namespace {

constexpr double day_s = 86400.0;
/// A clock time up to this long before the start is a hasty line, not one of the next day.
constexpr double early_s = 3600.0;

bool all_digits(std::string_view text) {
    return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

/// `h:mm:ss`, `m:ss` with a fraction on the last; parts after the first stay below 60.
struct ColonTime {
    std::vector<double> parts;
};

std::optional<ColonTime> parse_colons(std::string_view text) {
    ColonTime time;
    while (true) {
        const std::size_t colon = text.find(':');
        const std::string_view part = trimmed(text.substr(0, colon));
        const bool last = colon == std::string_view::npos;
        const std::optional<double> value = parse_written_number(part);
        if (!value || part.empty() || part[0] == '-' || part[0] == '+') return std::nullopt;
        if (!last && !all_digits(part)) return std::nullopt;
        if (!time.parts.empty() && *value >= 60.0) return std::nullopt;
        time.parts.push_back(*value);
        if (last) break;
        text.remove_prefix(colon + 1);
    }
    if (time.parts.size() < 2 || time.parts.size() > 3) return std::nullopt;
    return time;
}

double stopwatch_s(const ColonTime& time) {
    double seconds = 0.0;
    for (const double part : time.parts)
        seconds = 60.0 * seconds + part;
    return seconds;
}

std::optional<double> clock_second(const ColonTime& time) {
    if (time.parts[0] >= 24.0) return std::nullopt;
    const double s = time.parts.size() == 3 ? time.parts[2] : 0.0;
    return 3600.0 * time.parts[0] + 60.0 * time.parts[1] + s;
}

std::optional<double> after_start(double second_of_day, const SheetStart& start) {
    double elapsed = std::fmod(second_of_day - start.second_of_day + day_s, day_s);
    if (elapsed > day_s - early_s) elapsed -= day_s;
    if (elapsed < 0.0) return std::nullopt;
    return elapsed;
}

std::optional<std::int64_t> parse_date(std::string_view text) {
    if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
    if (!all_digits(text.substr(0, 4)) || !all_digits(text.substr(5, 2)) ||
        !all_digits(text.substr(8, 2)))
        return std::nullopt;
    const auto number = [&](std::size_t from, std::size_t count) {
        unsigned value = 0;
        std::from_chars(text.data() + from, text.data() + from + count, value);
        return value;
    };
    const std::chrono::year_month_day date{std::chrono::year(static_cast<int>(number(0, 4))),
                                           std::chrono::month(number(5, 2)),
                                           std::chrono::day(number(8, 2))};
    if (!date.ok()) return std::nullopt;
    return std::chrono::sys_days(date).time_since_epoch().count();
}

/// The time of day in `10:01:23.5+01:00` or `10:01:23Z`.
std::string_view without_zone(std::string_view time) {
    return trimmed(time.substr(0, time.find_first_of("Zz+-")));
}

/// `1m23s`, `83 sec`, `1 h 2 min`: numbers with their units, in falling order.
std::optional<double> parse_units(std::string_view text) {
    double seconds = 0.0;
    int last_rank = 0;
    while (!text.empty()) {
        const std::size_t digits = text.find_first_not_of("0123456789.,");
        if (digits == 0 || digits == std::string_view::npos) return std::nullopt;
        const std::optional<double> value = parse_written_number(text.substr(0, digits));
        text = trimmed(text.substr(digits));
        const std::size_t letters = text.find_first_of("0123456789 ");
        const std::string unit = lower_case(text.substr(0, letters));
        text =
            letters == std::string_view::npos ? std::string_view() : trimmed(text.substr(letters));
        const int rank = unit == "h"                                         ? 1
                         : unit == "m" || unit == "min"                      ? 2
                         : unit == "s" || unit == "sec" || unit == "seconds" ? 3
                                                                             : 0;
        if (!value || rank <= last_rank) return std::nullopt;
        last_rank = rank;
        seconds += *value * (rank == 1 ? 3600.0 : rank == 2 ? 60.0 : 1.0);
    }
    if (last_rank == 0) return std::nullopt;
    return seconds;
}

std::string_view without_about(std::string_view text) {
    for (const std::string_view word : {"~", "ca.", "ca ", "about "})
        if (lower_case(text.substr(0, word.size())) == word)
            return trimmed(text.substr(word.size()));
    return text;
}

/// Minutes and seconds marked by strokes become colons: 1'23" is 1:23.
std::string strokes_as_colons(std::string_view text) {
    std::string plain(text);
    while (!plain.empty() && (plain.back() == '"' || plain.back() == '\''))
        plain.pop_back();
    for (char& c : plain)
        if (c == '\'') c = ':';
    return plain;
}

std::optional<TimeReading> parse_dated(std::string_view text, const SheetStart& start) {
    const std::optional<std::int64_t> day = parse_date(text.substr(0, 10));
    const std::optional<ColonTime> time = parse_colons(without_zone(trimmed(text.substr(11))));
    if (!day || !time) return std::nullopt;
    const std::optional<double> second = clock_second(*time);
    if (!second) return std::nullopt;
    TimeReading reading;
    reading.clock_s =
        start.day ? static_cast<double>(*day - *start.day) * day_s + *second - start.second_of_day
                  : after_start(*second, start);
    if (!reading.clock_s || *reading.clock_s < 0.0) return std::nullopt;
    return reading;
}

} // namespace

std::optional<double> parse_written_number(std::string_view text) {
    std::string plain(trimmed(text));
    for (char& c : plain)
        if (c == ',') c = '.';
    const char* first = plain.data();
    const char* last = first + plain.size();
    if (first != last && *first == '+') ++first;
    double value = 0.0;
    const auto [end, fault] = std::from_chars(first, last, value, std::chars_format::fixed);
    if (fault != std::errc() || end != last || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::optional<SheetStart> parse_sheet_start(std::string_view text) {
    text = trimmed(text);
    SheetStart start;
    if (text.size() > 11 && (start.day = parse_date(text.substr(0, 10)))) text.remove_prefix(11);
    const std::optional<ColonTime> time = parse_colons(without_zone(text));
    const std::optional<double> second = time ? clock_second(*time) : std::nullopt;
    if (!second) return std::nullopt;
    start.second_of_day = *second;
    return start;
}

std::optional<TimeReading> parse_written_time(std::string_view text,
                                              const std::optional<SheetStart>& start) {
    text = without_about(trimmed(text));
    if (text.size() > 11 && text[4] == '-' && (text[10] == 'T' || text[10] == ' '))
        return start ? parse_dated(text, *start) : std::nullopt;
    const bool plus = !text.empty() && text[0] == '+';
    if (plus) text = trimmed(text.substr(1));
    TimeReading reading;
    if (const std::optional<double> seconds = parse_written_number(text)) {
        if (*seconds < 0.0 || (plus && text[0] == '+')) return std::nullopt;
        reading.elapsed_s = seconds;
        return reading;
    }
    if ((reading.elapsed_s = parse_units(text))) return reading;
    const std::optional<ColonTime> time = parse_colons(strokes_as_colons(text));
    if (!time) return std::nullopt;
    reading.elapsed_s = stopwatch_s(*time);
    if (start && !plus)
        if (const std::optional<double> second = clock_second(*time))
            reading.clock_s = after_start(*second, *start);
    return reading;
}

} // namespace lull
