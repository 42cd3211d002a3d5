// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/time_text.hpp"
#include "recording/start_time.hpp"

#include <chrono>

namespace lull {
namespace {

constexpr double day_s = 86400.0;

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

std::optional<double> civil_seconds(int year, int month, int day) {
    using namespace std::chrono;
    const year_month_day date{std::chrono::year{year},
                              std::chrono::month{static_cast<unsigned>(month)},
                              std::chrono::day{static_cast<unsigned>(day)}};
    if (!date.ok()) return std::nullopt;
    return day_s * static_cast<double>(sys_days{date}.time_since_epoch().count());
}

/// Whether the year comes last, as in 03-04-2026: day and month are then ambiguous.
bool is_date_with_year_last(std::string_view text) {
    Scanner in{text};
    int first = 0, second = 0, year = 0;
    if (!in.digits(2, first) || in.rest.empty() || is_digit(in.rest[0])) return false;
    const char mark = in.rest[0];
    return in.take(mark) && in.digits(2, second) && in.take(mark) && in.digits(4, year) &&
           first >= 1 && first <= 31 && second >= 1 && second <= 31;
}

/// YYYYMMDD or YYYY-MM-DD, one character, HHMMSS or HH-MM-SS, optionally Z, at the start of a text.
std::optional<CivilTime> date_and_time(std::string_view text) {
    Scanner in{text};
    int year = 0, month = 0, day = 0;
    if (!in.digits(4, year) || year < 1970 || year > 2199) return std::nullopt;
    const char mark = !in.rest.empty() && !is_digit(in.rest[0]) ? in.rest[0] : '\0';
    if ((mark != 0 && !in.take(mark)) || !in.digits(2, month) || (mark != 0 && !in.take(mark)) ||
        !in.digits(2, day))
        return std::nullopt;
    const std::optional<double> date = civil_seconds(year, month, day);
    if (!date || in.rest.empty()) return std::nullopt;
    if (!is_digit(in.rest[0])) in.rest.remove_prefix(1); // T, _, -, blank
    const char between = in.rest.size() > 2 && !is_digit(in.rest[2]) ? in.rest[2] : '\0';
    const std::optional<double> time = take_time_of_day(in, between);
    if (!time || (!in.rest.empty() && is_digit(in.rest[0]))) return std::nullopt;
    CivilTime found{*date + *time, std::nullopt};
    const auto is_letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
    if (in.take('Z') && (in.rest.empty() || !is_letter(in.rest[0]))) found.utc_offset_s = 0;
    return found;
}

} // namespace

std::optional<double> take_time_of_day(Scanner& in, char separator) {
    int hour = 0, minute = 0, second = 0;
    const auto part = [&](bool first, int& value) {
        return (first || separator == 0 || in.take(separator)) && in.digits(2, value);
    };
    if (!part(true, hour) || !part(false, minute) || !part(false, second)) return std::nullopt;
    if (hour > 23 || minute > 59 || second > 59) return std::nullopt;
    return hour * 3600.0 + minute * 60.0 + second;
}

std::optional<int> take_zone(Scanner& in) {
    if (in.take('Z')) return 0;
    const int sign = in.take('+') ? 1 : in.take('-') ? -1 : 0;
    int hours = 0, minutes = 0;
    if (sign == 0 || !in.digits(2, hours)) return std::nullopt;
    in.take(':');
    if (!in.rest.empty() && !in.digits(2, minutes)) return std::nullopt;
    if (hours > 14 || minutes > 59) return std::nullopt;
    return sign * (hours * 3600 + minutes * 60);
}

std::optional<CivilTime> parse_iso8601(std::string_view text) {
    Scanner in{text};
    int year = 0, month = 0, day = 0;
    if (!in.digits(4, year) || !in.take('-') || !in.digits(2, month) || !in.take('-') ||
        !in.digits(2, day))
        return std::nullopt;
    const std::optional<double> date = civil_seconds(year, month, day);
    if (!date || (!in.take('T') && !in.take(' '))) return std::nullopt;
    const std::optional<double> time = take_time_of_day(in, ':');
    if (!time) return std::nullopt;
    CivilTime result{*date + *time + in.fraction(), std::nullopt};
    if (in.rest.empty()) return result;
    result.utc_offset_s = take_zone(in);
    if (!result.utc_offset_s || !in.rest.empty()) return std::nullopt;
    return result;
}

std::optional<CivilTime> time_in_name(std::string_view name, bool& ambiguous) {
    ambiguous = false;
    for (std::size_t i = 0; i < name.size(); ++i) {
        if (!is_digit(name[i]) || (i > 0 && is_digit(name[i - 1]))) continue;
        if (const auto found = date_and_time(name.substr(i))) {
            ambiguous = false;
            return found;
        }
        ambiguous = ambiguous || is_date_with_year_last(name.substr(i));
    }
    return std::nullopt;
}

} // namespace lull
