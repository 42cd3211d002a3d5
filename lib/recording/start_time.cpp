// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/start_time.hpp"

#include "error.hpp"

#include <fmt/format.h>

#include <charconv>
#include <chrono>
#include <cmath>
#include <utility>

namespace lull {
namespace {

constexpr double day_s = 86400.0;

/// Takes fixed pieces off the front of a text.
struct Scanner {
    std::string_view rest;

    bool take(char c) {
        if (rest.empty() || rest.front() != c) return false;
        rest.remove_prefix(1);
        return true;
    }
    bool digits(std::size_t count, int& value) {
        if (rest.size() < count) return false;
        value = 0;
        for (std::size_t i = 0; i < count; ++i) {
            if (rest[i] < '0' || rest[i] > '9') return false;
            value = value * 10 + (rest[i] - '0');
        }
        rest.remove_prefix(count);
        return true;
    }
    double fraction() {
        if (rest.empty() || (rest.front() != '.' && rest.front() != ',')) return 0.0;
        double value = 0.0, weight = 0.1;
        std::size_t used = 1;
        for (; used < rest.size() && rest[used] >= '0' && rest[used] <= '9'; ++used, weight /= 10.0)
            value += weight * (rest[used] - '0');
        if (used == 1) return 0.0;
        rest.remove_prefix(used);
        return value;
    }
};

std::optional<double> civil_seconds(int year, int month, int day) {
    using namespace std::chrono;
    const year_month_day date{std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)},
                              std::chrono::day{static_cast<unsigned>(day)}};
    if (!date.ok()) return std::nullopt;
    return day_s * static_cast<double>(sys_days{date}.time_since_epoch().count());
}

std::optional<double> time_of_day(Scanner& in, char separator) {
    int hour = 0, minute = 0, second = 0;
    const auto part = [&](bool first, int& value) {
        return (first || separator == 0 || in.take(separator)) && in.digits(2, value);
    };
    if (!part(true, hour) || !part(false, minute) || !part(false, second)) return std::nullopt;
    if (hour > 23 || minute > 59 || second > 59) return std::nullopt;
    return hour * 3600.0 + minute * 60.0 + second;
}

std::optional<int> zone(Scanner& in) {
    if (in.take('Z')) return 0;
    const int sign = in.take('+') ? 1 : in.take('-') ? -1 : 0;
    int hours = 0, minutes = 0;
    if (sign == 0 || !in.digits(2, hours)) return std::nullopt;
    in.take(':');
    if (!in.rest.empty() && !in.digits(2, minutes)) return std::nullopt;
    if (hours > 14 || minutes > 59) return std::nullopt;
    return sign * (hours * 3600 + minutes * 60);
}

std::optional<double> number(std::string_view text) {
    double value = 0.0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

/// H...:MM:SS[.f] after a plus sign: hours may run past a day.
std::optional<double> elapsed(std::string_view text) {
    const std::size_t colon = text.find(':');
    if (colon == 0 || colon == std::string_view::npos || colon > 4) return std::nullopt;
    int hours = 0, minutes = 0, seconds = 0;
    Scanner in{text};
    if (!in.digits(colon, hours) || !in.take(':') || !in.digits(2, minutes) || !in.take(':') ||
        !in.digits(2, seconds) || minutes > 59 || seconds > 59)
        return std::nullopt;
    const double fraction = in.fraction();
    if (!in.rest.empty()) return std::nullopt;
    return hours * 3600.0 + minutes * 60.0 + seconds + fraction;
}

[[noreturn]] void refuse(const std::string& text) {
    throw_usage("'" + text + "' is not a time",
                "give seconds, +HH:MM:SS, HH:MM:SS, or ISO 8601 as 2026-03-14T02:10:00");
}

void need_start(const std::string& text, const StartTime& start) {
    if (!start.unix_s)
        throw_usage("'" + text + "' is a clock time, and the start of the recording is not known",
                    "give seconds or +HH:MM:SS from the start");
}

} // namespace

std::optional<CivilTime> parse_iso8601(std::string_view text) {
    Scanner in{text};
    int year = 0, month = 0, day = 0;
    if (!in.digits(4, year) || !in.take('-') || !in.digits(2, month) || !in.take('-') || !in.digits(2, day))
        return std::nullopt;
    const std::optional<double> date = civil_seconds(year, month, day);
    if (!date || (!in.take('T') && !in.take(' '))) return std::nullopt;
    const std::optional<double> time = time_of_day(in, ':');
    if (!time) return std::nullopt;
    CivilTime result{*date + *time + in.fraction(), std::nullopt};
    if (in.rest.empty()) return result;
    result.utc_offset_s = zone(in);
    if (!result.utc_offset_s || !in.rest.empty()) return std::nullopt;
    return result;
}

std::optional<CivilTime> time_in_name(std::string_view name, bool& ambiguous) {
    ambiguous = false;
    const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
    for (std::size_t i = 0; i < name.size(); ++i) {
        if (i > 0 && is_digit(name[i - 1])) continue;
        Scanner in{name.substr(i)};
        int year = 0, month = 0, day = 0;
        if (!in.digits(4, year) || year < 1970 || year > 2199) {
            Scanner short_first{name.substr(i)}; // 03-04-2026: which is the month?
            if (short_first.digits(2, day) && !short_first.rest.empty() && !is_digit(short_first.rest[0])) {
                const char mark = short_first.rest[0];
                if (short_first.take(mark) && short_first.digits(2, month) && short_first.take(mark) &&
                    short_first.digits(4, year))
                    ambiguous = true;
            }
            continue;
        }
        const char mark = !in.rest.empty() && !is_digit(in.rest[0]) ? in.rest[0] : '\0';
        if ((mark != 0 && !in.take(mark)) || !in.digits(2, month) || (mark != 0 && !in.take(mark)) ||
            !in.digits(2, day))
            continue;
        const std::optional<double> date = civil_seconds(year, month, day);
        if (!date || in.rest.empty() || is_digit(in.rest[0])) continue;
        in.rest.remove_prefix(1); // T, _, -, blank
        const char between = in.rest.size() > 2 && !is_digit(in.rest[2]) ? in.rest[2] : '\0';
        const std::optional<double> time = time_of_day(in, between);
        if (!time || (!in.rest.empty() && is_digit(in.rest[0]))) continue;
        CivilTime found{*date + *time, std::nullopt};
        if (in.take('Z') && (in.rest.empty() || !std::isalpha(static_cast<unsigned char>(in.rest[0]))))
            found.utc_offset_s = 0;
        ambiguous = false;
        return found;
    }
    return std::nullopt;
}

StartTime start_of(const CivilTime& time, std::string source) {
    StartTime start;
    start.unix_s = time.seconds;
    start.utc_offset_s = time.utc_offset_s;
    start.source = std::move(source);
    return start;
}

StartTime session_start(const Session& session) {
    StartTime start;
    start.source = "not known: times count from 0 s";
    if (!session.start) return start;
    const std::optional<CivilTime> time = parse_iso8601(*session.start);
    if (!time)
        throw_input(session.path, "start", "\"" + *session.start + "\" is not a time",
                    "give ISO 8601 as 2026-03-14T02:10:00");
    start = start_of(*time, "session");
    start.sigma_s = session.start_sigma_s;
    if (session.time_zone.empty()) return start;
    Scanner in{session.time_zone};
    const std::optional<int> offset = zone(in);
    if (offset && in.rest.empty()) {
        if (!start.utc_offset_s) start.utc_offset_s = offset;
        return start;
    }
    start.zone_name = session.time_zone;
    // Civil time to UTC: the offset before a change of clocks is tried first, then the one after.
    const double utc_s = start.utc_offset_s ? *start.unix_s - *start.utc_offset_s
                                            : *start.unix_s - zone_offset_s(start.zone_name, *start.unix_s);
    const int local = zone_offset_s(start.zone_name, utc_s);
    if (start.utc_offset_s) start.unix_s = *start.unix_s - *start.utc_offset_s + local;
    start.utc_offset_s = local;
    return start;
}

std::string clock_text(const StartTime& start, double time_s) {
    if (!start.unix_s) return "";
    double civil = *start.unix_s + time_s;
    int offset = start.utc_offset_s.value_or(0);
    if (!start.zone_name.empty()) {
        const double utc = civil - offset;
        offset = zone_offset_s(start.zone_name, utc);
        civil = utc + offset;
    }
    const auto milliseconds = static_cast<std::int64_t>(std::floor(civil * 1000.0 + 0.5));
    using namespace std::chrono;
    const sys_time<std::chrono::milliseconds> moment{std::chrono::milliseconds(milliseconds)};
    const auto day = floor<days>(moment);
    const year_month_day date{day};
    const auto in_day = (moment - day).count();
    std::string text = fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}", int{date.year()},
                                   unsigned{date.month()}, unsigned{date.day()}, in_day / 3600000,
                                   in_day / 60000 % 60, in_day / 1000 % 60, in_day % 1000);
    if (!start.utc_offset_s) return text;
    if (offset == 0 && start.zone_name.empty()) return text + "Z";
    const int size = std::abs(offset);
    return text + fmt::format("{}{:02}:{:02}", offset < 0 ? '-' : '+', size / 3600, size / 60 % 60);
}

double parse_time(const std::string& text, const StartTime& start) {
    if (!text.empty() && text.front() == '+') {
        const std::optional<double> time = elapsed(std::string_view(text).substr(1));
        if (!time) refuse(text);
        return *time;
    }
    if (const std::optional<double> seconds = number(text)) return *seconds;
    if (const std::optional<CivilTime> civil = parse_iso8601(text)) {
        need_start(text, start);
        if (!civil->utc_offset_s) return civil->seconds - *start.unix_s;
        if (!start.utc_offset_s)
            throw_usage("'" + text + "' has a zone, and the recording's is not known", "give it without one");
        return (civil->seconds - *civil->utc_offset_s) - (*start.unix_s - *start.utc_offset_s);
    }
    Scanner in{text};
    const std::optional<double> of_day = time_of_day(in, ':');
    if (!of_day) refuse(text);
    const double time = *of_day + in.fraction();
    if (!in.rest.empty()) refuse(text);
    need_start(text, start);
    const double start_of_day = *start.unix_s - std::floor(*start.unix_s / day_s) * day_s;
    const double after = time - start_of_day;
    return after >= 0.0 ? after : after + day_s;
}

} // namespace lull
