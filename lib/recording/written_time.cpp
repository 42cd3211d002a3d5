// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/written_time.hpp"

#include "recording/internal/time_text.hpp"
#include "recording/written_text.hpp"

#include <string>
#include <vector>

namespace lull {
namespace {

bool all_digits(std::string_view text) {
    return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

/// `h:mm:ss` or `m:ss`, with a fraction on the last part; parts after the first are below 60.
struct ColonTime {
    std::vector<double> parts;
    bool fraction = false;
    bool two_digits = false; ///< of the first part
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
        if (time.parts.empty()) time.two_digits = part.size() >= 2;
        time.parts.push_back(*value);
        time.fraction = !all_digits(part);
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

std::optional<double> second_of_day(const ColonTime& time) {
    if (time.parts[0] >= 24.0) return std::nullopt;
    const bool with_seconds = time.parts.size() == 3;
    if (!with_seconds && time.fraction) return std::nullopt; // no clock shows 10:01.5
    return 3600.0 * time.parts[0] + 60.0 * time.parts[1] + (with_seconds ? time.parts[2] : 0.0);
}

/// `1m23s`, `83 sec`, `1 h 2 min`: numbers with units in falling order.
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

/// Replaces the marks of minutes and seconds by colons: 1'23" becomes 1:23.
std::string strokes_as_colons(std::string_view text) {
    std::string plain(text);
    while (!plain.empty() && (plain.back() == '"' || plain.back() == '\''))
        plain.pop_back();
    for (char& c : plain)
        if (c == '\'') c = ':';
    return plain;
}

bool has_date(std::string_view text) {
    return text.size() > 11 && text[4] == '-' && (text[10] == 'T' || text[10] == ' ');
}

/// `2026-03-14T10:01`, `2026-03-14 10:01:23.5+01:00`.
std::optional<CivilTime> parse_dated(std::string_view text) {
    const std::optional<CivilTime> day =
        parse_iso8601(std::string(text.substr(0, 10)) + "T00:00:00");
    const std::string_view clock = text.substr(11);
    const std::size_t zone_at = clock.find_first_of("Zz+-");
    const std::optional<ColonTime> time = parse_colons(trimmed(clock.substr(0, zone_at)));
    const std::optional<double> second = time ? second_of_day(*time) : std::nullopt;
    if (!day || !second) return std::nullopt;
    CivilTime moment{day->seconds + *second, std::nullopt};
    if (zone_at == std::string_view::npos) return moment;
    std::string zone(clock.substr(zone_at));
    if (zone == "z") zone = "Z";
    Scanner in{zone};
    moment.utc_offset_s = take_zone(in);
    if (!moment.utc_offset_s || !in.rest.empty()) return std::nullopt;
    return moment;
}

} // namespace

std::optional<WrittenTime> read_written_time(std::string_view text) {
    text = without_about(trimmed(text));
    WrittenTime time;
    if (has_date(text)) {
        time.moment = parse_dated(text);
        return time.moment ? std::optional(time) : std::nullopt;
    }
    const bool plus = !text.empty() && text[0] == '+';
    if (plus) text = trimmed(text.substr(1));
    if (const std::optional<double> seconds = parse_written_number(text)) {
        if (*seconds < 0.0 || (plus && text[0] == '+')) return std::nullopt;
        time.elapsed_s = seconds;
        return time;
    }
    if ((time.elapsed_s = parse_units(text))) return time;
    const std::optional<ColonTime> colons = parse_colons(strokes_as_colons(text));
    if (!colons) return std::nullopt;
    time.elapsed_s = stopwatch_s(*colons);
    if (plus) return time;
    time.second_of_day = second_of_day(*colons);
    time.two_digit_hours = colons->parts.size() == 3 && colons->two_digits;
    time.hours_and_minutes = colons->parts.size() == 2 && time.second_of_day &&
                             text.find('\'') == std::string_view::npos;
    return time;
}

bool is_clock_time(const WrittenTime& time) {
    return time.moment || time.two_digit_hours;
}

} // namespace lull
