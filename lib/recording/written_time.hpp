// SPDX-License-Identifier: GPL-3.0-or-later
//
// Times as people write them and as the page shows them: the one grammar of options, sheets, logs
// and tables. What a time means where it may mean two things is for those to say
// (parse_time in recording/start_time.hpp, grading/sheet.hpp).
#pragma once

#include "recording/start_time.hpp"

#include <optional>
#include <string_view>

namespace lull {

/// A time with all that it may mean; at least one of the first three is there.
struct WrittenTime {
    std::optional<double> elapsed_s;     ///< from the start of the recording, >= 0
    std::optional<double> second_of_day; ///< by the clock, 0 <= s < 86400
    std::optional<CivilTime> moment;     ///< a date was given, too
    bool two_digit_hours = false;        ///< hh:mm:ss, as clocks show it, and not h:mm:ss
    bool hours_and_minutes = false;      ///< 10:01, if it is a clock time
};

/// Reads seconds (`83`, `83.5`, `83,5`, `83 s`, `1m23s`), minutes and seconds (`1:23`, `13:35.0`,
/// `1'23`), `h:mm:ss[.s]`, `hh:mm:ss[.s]`, the same from the start with a plus sign, and
/// `2026-03-14T10:01:23[.s][zone]`, whose seconds may be missing. A leading `~`, `ca.` or `about`
/// is left aside. Without a plus sign, figures with colons may be a stopwatch's or a clock's.
[[nodiscard]] std::optional<WrittenTime> read_written_time(std::string_view text);

/// Whether by its form alone it is a time of the clock: a date, or hh:mm:ss.
[[nodiscard]] bool is_clock_time(const WrittenTime& time);

} // namespace lull
