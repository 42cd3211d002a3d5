// SPDX-License-Identifier: GPL-3.0-or-later
//
// Times as people write them down: seconds, stopwatch times, clock times.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace lull {

/// When the recording began, by the wall clock that the sheets were written by.
struct SheetStart {
    double second_of_day = 0.0;      ///< 0 <= s < 86400
    std::optional<std::int64_t> day; ///< days from 1970-01-01; none: the date is not known
};

/// `2026-03-14T10:00:00` (a zone or fraction may follow; the zone is left aside, since sheets are
/// written by the clock on the wall) or `10:00:00`. None when it is neither.
[[nodiscard]] std::optional<SheetStart> parse_sheet_start(std::string_view text);

/// A time with what it may mean. At least one is there.
struct TimeReading {
    std::optional<double> elapsed_s; ///< from the start of the recording
    std::optional<double> clock_s;   ///< the same as a clock time, already less the start
};

/// Reads `83`, `83.5`, `83,5`, `83 s`, `1m23s`, `1:23`, `1:23.5`, `1'23`, `0:01:23`, `+00:01:23`,
/// and with a start `10:01:23`, `10:01` and `2026-03-14T10:01:23`. A leading `~`, `ca.` or `about`
/// is left aside. Without a plus sign, two and three figures with colons may be either a stopwatch
/// or a clock. \return none when it cannot be read, or means a moment before the recording began.
[[nodiscard]] std::optional<TimeReading> parse_written_time(std::string_view text,
                                                            const std::optional<SheetStart>& start);

/// A number with a decimal point or comma and nothing else, or none.
[[nodiscard]] std::optional<double> parse_written_number(std::string_view text);

} // namespace lull
