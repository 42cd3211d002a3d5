// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/start_time.hpp"

#include "error.hpp"
#include "recording/internal/time_text.hpp"
#include "recording/written_time.hpp"

#include <fmt/format.h>

#include <charconv>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>

namespace lull {
namespace {

constexpr double day_s = 86400.0;

std::optional<double> number(std::string_view text) {
    double value = 0.0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

[[noreturn]] void refuse(const std::string& text) {
    throw_usage(
        "'" + text + "' is not a time",
        "give seconds, m:ss, h:mm:ss or +HH:MM:SS from the start, HH:MM:SS by the clock, or "
        "ISO 8601 as 2026-03-14T02:10:00");
}

void need_start(const std::string& text, const StartTime& start) {
    if (!start.unix_s)
        throw_usage("'" + text + "' is a clock time, and the start of the recording is not known",
                    "give seconds or +HH:MM:SS from the start");
}

/// The moments, in seconds after the start, at which its clock shows a civil time without a zone:
/// two where a clock change repeats the time, none where it skips it.
std::vector<double> moments(const StartTime& start, double civil_s) {
    if (start.zone_name.empty()) return {civil_s - *start.unix_s};
    std::vector<double> after = utc_of_civil(start.zone_name, civil_s);
    for (double& moment : after)
        moment -= *start.unix_s - *start.utc_offset_s;
    return after;
}

} // namespace

StartTime start_of(const CivilTime& time, const std::string& time_zone, std::string source) {
    StartTime start;
    start.source = std::move(source);
    start.unix_s = time.seconds;
    start.utc_offset_s = time.utc_offset_s;
    if (time_zone.empty()) return start;
    Scanner in{time_zone};
    const std::optional<int> offset = take_zone(in);
    if (offset && in.rest.empty()) {
        if (start.utc_offset_s) start.unix_s = time.seconds - *start.utc_offset_s + *offset;
        start.utc_offset_s = offset;
        return start;
    }
    start.zone_name = time_zone;
    double utc_s = time.seconds - time.utc_offset_s.value_or(0);
    if (!time.utc_offset_s) {
        const std::vector<double> found = utc_of_civil(time_zone, time.seconds);
        if (found.empty())
            throw_input("", "start", "does not exist in " + time_zone + ": a clock change skips it",
                        "write the time with its offset, as 2026-03-14T02:10:00+01:00");
        if (found.size() > 1)
            throw_input("", "start", "comes twice in " + time_zone + ": a clock change repeats it",
                        "write the time with its offset, as 2026-03-14T02:10:00+01:00");
        utc_s = found.front();
    }
    start.utc_offset_s = zone_offset_s(time_zone, utc_s);
    start.unix_s = utc_s + *start.utc_offset_s;
    return start;
}

StartTime unknown_start() {
    StartTime start;
    start.source = "not known: times count from 0 s";
    return start;
}

StartTime session_start(const Session& session) {
    if (!session.start) return unknown_start();
    const std::optional<CivilTime> time = parse_iso8601(*session.start);
    if (!time)
        throw_input(session.path, "start", "\"" + *session.start + "\" is not a time",
                    "give ISO 8601 as 2026-03-14T02:10:00");
    try {
        StartTime start = start_of(*time, session.time_zone, "session");
        start.sigma_s = session.start_sigma_s;
        return start;
    } catch (const Error& fault) {
        throw_input(session.path, fault.place, fault.fault, fault.mend);
    }
}

StartTime moved_start(const StartTime& start, double by_s) {
    if (!start.unix_s) return start;
    StartTime moved = start;
    *moved.unix_s += by_s;
    if (start.zone_name.empty()) return moved;
    const double utc_s = *moved.unix_s - *start.utc_offset_s;
    moved.utc_offset_s = zone_offset_s(start.zone_name, utc_s);
    moved.unix_s = utc_s + *moved.utc_offset_s;
    return moved;
}

std::string clock_text(const StartTime& start, double time_s) {
    if (!start.unix_s) return "";
    const StartTime then = moved_start(start, time_s);
    const int offset = then.utc_offset_s.value_or(0);
    const auto milliseconds = static_cast<std::int64_t>(std::floor(*then.unix_s * 1000.0 + 0.5));
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

double seconds_after(const StartTime& start, const CivilTime& time) {
    if (!start.unix_s)
        throw_usage("the start of the recording is not known", "give its start first");
    if (!time.utc_offset_s) {
        const std::vector<double> found = moments(start, time.seconds);
        if (found.size() == 1) return found.front();
        throw_usage(found.empty() ? "a clock change skips this time"
                                  : "a clock change repeats this time",
                    "write it with its offset, as 2026-03-14T02:10:00+01:00");
    }
    if (!start.utc_offset_s)
        throw_usage("the time has a zone, and the recording's is not known", "give it without one");
    return (time.seconds - *time.utc_offset_s) - (*start.unix_s - *start.utc_offset_s);
}

double time_of_day_after(const StartTime& start, double of_day_s) {
    const double midnight = std::floor(*start.unix_s / day_s) * day_s;
    for (int day = 0; day < 3; ++day)
        for (const double moment : moments(start, midnight + day * day_s + of_day_s))
            if (moment >= 0.0) return moment;
    return std::numeric_limits<double>::quiet_NaN(); // no clock change skips one time on three days
}

double parse_time(const std::string& text, const StartTime& start) {
    if (const std::optional<double> seconds = number(text)) return *seconds;
    const std::optional<WrittenTime> time = read_written_time(text);
    if (!time) refuse(text);
    if (time->moment) {
        need_start(text, start);
        return seconds_after(start, *time->moment);
    }
    if (time->two_digit_hours) {
        if (!time->second_of_day) refuse(text);
        need_start(text, start);
        return time_of_day_after(start, *time->second_of_day);
    }
    if (time->hours_and_minutes && start.unix_s)
        throw_usage("'" + text +
                        "' is not a time that means one thing: it may be minutes and seconds, "
                        "or hours and minutes of the clock",
                    "give +HH:MM:SS from the start, or HH:MM:SS by the clock");
    return *time->elapsed_s;
}

} // namespace lull
