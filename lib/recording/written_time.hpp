// SPDX-License-Identifier: GPL-3.0-or-later
//
// Times as people write them and as the page shows them: one grammar for options, sheets, logs and
// tables. The callers decide on the meaning of ambiguous times (parse_time in
// recording/start_time.hpp, grading/sheet.hpp).
#pragma once

#include "recording/start_time.hpp"

#include <optional>
#include <string_view>

namespace lull {

/// A time with all its possible meanings; at least one of the first three is set.
struct WrittenTime {
    std::optional<double> elapsed_s;     ///< since the start of the recording, >= 0
    std::optional<double> second_of_day; ///< by the clock, 0 <= s < 86400
    std::optional<CivilTime> moment;     ///< a date was given, too
    bool two_digit_hours = false;        ///< hh:mm:ss, as clocks show it, not h:mm:ss
    bool hours_and_minutes = false;      ///< 10:01, if it is a clock time
};

/// Reads seconds (`83`, `83.5`, `83,5`, `83 s`, `1m23s`), minutes and seconds (`1:23`, `13:35.0`,
/// `1'23`), `h:mm:ss[.s]`, `hh:mm:ss[.s]`, the same from the start with a plus sign, and
/// `2026-03-14T10:01:23[.s][zone]`, where the seconds may be missing. Ignores a leading `~`, `ca.`
/// or `about`. Without a plus sign, figures with colons may be a stopwatch's or a clock's.
[[nodiscard]] std::optional<WrittenTime> read_written_time(std::string_view text);

/// Whether its form alone shows that it is a clock time: a date, or hh:mm:ss.
[[nodiscard]] bool is_clock_time(const WrittenTime& time);

} // namespace lull
