// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a time on a sheet may mean (its grammar: recording/written_time.hpp).
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

/// A time with what it may mean. At least one of the two is there.
struct TimeReading {
    std::optional<double> elapsed_s; ///< from the start of the recording
    std::optional<double> clock_s;   ///< the same as a clock time, already less the start
    bool two_digit_hours = false;    ///< hh:mm:ss, as clocks show it
};

/// \return none when it cannot be read, needs a start that is not known, or means a moment before
/// the recording began.
[[nodiscard]] std::optional<TimeReading> parse_written_time(std::string_view text,
                                                            const std::optional<SheetStart>& start);

} // namespace lull
