// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/sheet_time.hpp"

#include "recording/written_time.hpp"

#include <cmath>

namespace lull {
namespace {

constexpr double day_s = 86400.0;
/// A clock time up to this long before the start is an inexact one, not one of the next day.
constexpr double early_s = 3600.0;

std::optional<double> after_start(double second_of_day, const SheetStart& start) {
    double elapsed = std::fmod(second_of_day - start.second_of_day + day_s, day_s);
    if (elapsed > day_s - early_s) elapsed -= day_s;
    if (elapsed < 0.0) return std::nullopt;
    return elapsed;
}

SheetStart start_at(const CivilTime& moment) {
    const double day = std::floor(moment.seconds / day_s);
    return {moment.seconds - day * day_s, static_cast<std::int64_t>(day)};
}

std::optional<double> elapsed_at(const CivilTime& moment, const SheetStart& start) {
    const SheetStart then = start_at(moment);
    if (!start.day) return after_start(then.second_of_day, start);
    const double elapsed_s = static_cast<double>(*then.day - *start.day) * day_s +
                             then.second_of_day - start.second_of_day;
    if (elapsed_s < 0.0) return std::nullopt;
    return elapsed_s;
}

} // namespace

std::optional<SheetStart> parse_sheet_start(std::string_view text) {
    const std::optional<WrittenTime> time = read_written_time(text);
    if (time && time->moment) return start_at(*time->moment);
    if (!time || !time->second_of_day) return std::nullopt;
    return SheetStart{*time->second_of_day, std::nullopt};
}

std::optional<TimeReading> parse_written_time(std::string_view text,
                                              const std::optional<SheetStart>& start) {
    const std::optional<WrittenTime> time = read_written_time(text);
    if (!time) return std::nullopt;
    TimeReading reading;
    reading.two_digit_hours = time->two_digit_hours;
    reading.elapsed_s = time->elapsed_s;
    if (start && time->moment) reading.clock_s = elapsed_at(*time->moment, *start);
    if (start && time->second_of_day) reading.clock_s = after_start(*time->second_of_day, *start);
    if (!reading.elapsed_s && !reading.clock_s) return std::nullopt;
    return reading;
}

} // namespace lull
