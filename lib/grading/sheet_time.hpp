// SPDX-License-Identifier: GPL-3.0-or-later
//
// The meaning of a time on a sheet (its grammar: recording/written_time.hpp).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace lull {

/// When the recording began, by the wall clock that the sheets use.
struct SheetStart {
    double second_of_day = 0.0;      ///< 0 <= s < 86400
    std::optional<std::int64_t> day; ///< days from 1970-01-01; empty: the date is unknown
};

/// `2026-03-14T10:00:00` (a zone or fraction may follow; the zone is ignored, since sheets use the
/// wall clock) or `10:00:00`. Empty for other texts.
[[nodiscard]] std::optional<SheetStart> parse_sheet_start(std::string_view text);

/// A time with its possible meanings. At least one of the two is set.
struct TimeReading {
    std::optional<double> elapsed_s; ///< from the start of the recording
    std::optional<double> clock_s;   ///< relative to the start, if it is a clock time
    bool two_digit_hours = false;    ///< hh:mm:ss, as clocks show it
};

/// \return empty when it cannot be read, needs an unknown start, or lies before the start of the
///         recording
[[nodiscard]] std::optional<TimeReading> parse_written_time(std::string_view text,
                                                            const std::optional<SheetStart>& start);

} // namespace lull
