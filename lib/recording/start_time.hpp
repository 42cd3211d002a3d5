// SPDX-License-Identifier: GPL-3.0-or-later
//
// The start of the time line, and the way between clock times and seconds.
#pragma once

#include "recording/recording.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// A moment as it was written: civil seconds since 1970-01-01T00:00:00, and the zone if one was.
struct CivilTime {
    double seconds = 0.0;
    std::optional<int> utc_offset_s;
};

/// Reads ISO 8601: 2026-03-14T02:10:00, with fraction and with Z or +HH:MM if given; a blank may
/// stand for T. Strict: no trailing rubbish, real dates only. Nothing when it is not that.
[[nodiscard]] std::optional<CivilTime> parse_iso8601(std::string_view text);

/// A date and time in a file's name (20260314T000000Z, 2026-03-14_00-00-00 and the like: year
/// first, year-month-day, then hour-minute-second). Only a trailing Z gives a zone. `ambiguous` is
/// set when the name holds a date with the year last, whose day and month cannot be told apart, and
/// nothing is returned.
[[nodiscard]] std::optional<CivilTime> time_in_name(std::string_view name, bool& ambiguous);

/// The start that a time means in a zone.
/// \param time_zone  "", an offset as +01:00, or an IANA name; with an offset in `time` itself it
/// only
///                   decides in which zone clock times are shown
/// \throws Error(input) without a file, place "time_zone" for a zone that is not known, "start" for
/// a
///         time that a clock change skips or repeats (it must then be written with its offset)
[[nodiscard]] StartTime start_of(const CivilTime& time, const std::string& time_zone,
                                 std::string source);

/// "not known: times count from 0 s"
[[nodiscard]] StartTime unknown_start();

/// The start that a session states, with its zone; unknown when it states none.
/// \throws Error(input) for a start or zone that cannot be read
[[nodiscard]] StartTime session_start(const Session& session);

/// The start `by_s` seconds later, its offset as it is then.
[[nodiscard]] StartTime moved_start(const StartTime& start, double by_s);

/// Seconds from the start to a time; one without a zone is read in the start's.
/// \throws Error(usage) when the start or its zone would have to be known and is not, or a clock
/// change
///         skips or repeats the time
[[nodiscard]] double seconds_after(const StartTime& start, const CivilTime& time);

/// Clock time of a moment on the time line: ISO 8601 with milliseconds, with the zone only where it
/// is known; empty when the start is not. Honours clock changes of an IANA zone.
[[nodiscard]] std::string clock_text(const StartTime& start, double time_s);

/// Seconds from the start, which must be known, to the first time at or after it at which its clock
/// shows a time of day [s].
[[nodiscard]] double time_of_day_after(const StartTime& start, double of_day_s);

/// Seconds on the time line from what a person wrote (recording/written_time.hpp): seconds, m:ss
/// and h:mm:ss[.f] from the start, a clock time HH:MM:SS[.f] (the first at or after the start), or
/// ISO 8601. \throws Error(usage) for anything else, for clock times when the start is not known,
/// and for 12:00 when it is: that may be either
[[nodiscard]] double parse_time(const std::string& text, const StartTime& start);

/// Offset of an IANA zone from UTC at a moment. \throws Error(input) when the zone is not known
[[nodiscard]] int zone_offset_s(const std::string& zone_name, double utc_s);

/// The moments (UTC) at which clocks in an IANA zone show a civil time: one; two, earlier first,
/// where a clock change repeats it; none where it skips it. \throws Error(input) as above
[[nodiscard]] std::vector<double> utc_of_civil(const std::string& zone_name, double civil_s);

} // namespace lull
