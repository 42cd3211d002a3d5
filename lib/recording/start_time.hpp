// SPDX-License-Identifier: GPL-3.0-or-later
//
// The start of the time line, and conversion between clock times and seconds.
#pragma once

#include "recording/recording.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// A moment as written: civil seconds since 1970-01-01T00:00:00, and the zone if given.
struct CivilTime {
    double seconds = 0.0;
    std::optional<int> utc_offset_s;
};

/// Reads ISO 8601: 2026-03-14T02:10:00, optionally with a fraction and with Z or +HH:MM. A blank
/// may replace T. Strict: real dates only, nothing after them. Empty for any other text.
[[nodiscard]] std::optional<CivilTime> parse_iso8601(std::string_view text);

/// The date and time in a file's name (20260314T000000Z, 2026-03-14_00-00-00 and similar:
/// year-month-day, then hour-minute-second). Only a trailing Z gives a zone. A date with the year
/// last is ambiguous in day and month: the result is then empty and `ambiguous` is set.
[[nodiscard]] std::optional<CivilTime> time_in_name(std::string_view name, bool& ambiguous);

/// The start given by a time in a zone.
/// \param time_zone  "", an offset as +01:00, or an IANA name. If `time` has an offset, it only
///                   sets the zone in which clock times are shown
/// \throws Error(input) without a file, with place "time_zone" for an unknown zone and "start" for
///         a time that a clock change skips or repeats (it must be written with its offset)
[[nodiscard]] StartTime start_of(const CivilTime& time, const std::string& time_zone,
                                 std::string source);

/// "not known: times count from 0 s"
[[nodiscard]] StartTime unknown_start();

/// The start that a session states, with its zone; unknown_start() when it states none.
/// \throws Error(input) for a start or zone that cannot be read
[[nodiscard]] StartTime session_start(const Session& session);

/// The start `by_s` seconds later, with the zone's offset at that time.
[[nodiscard]] StartTime moved_start(const StartTime& start, double by_s);

/// Seconds from the start to a time. A time without a zone is in the zone of the start.
/// \throws Error(usage) when the start or its zone is needed and unknown, or when a clock change
///         skips or repeats the time
[[nodiscard]] double seconds_after(const StartTime& start, const CivilTime& time);

/// Clock time of a moment on the time line: ISO 8601 with milliseconds, and with the zone if known;
/// empty when the start is unknown. Follows clock changes of an IANA zone.
[[nodiscard]] std::string clock_text(const StartTime& start, double time_s);

/// Seconds from the start, which must be known, to the first moment from then on at which its clock
/// shows a time of day [s].
[[nodiscard]] double time_of_day_after(const StartTime& start, double of_day_s);

/// Seconds on the time line for a time that a person wrote (recording/written_time.hpp): seconds,
/// m:ss and h:mm:ss[.f] from the start, a clock time HH:MM:SS[.f] (the first at or after the
/// start), or ISO 8601.
/// \throws Error(usage) for anything else, for clock times when the start is unknown, and for 12:00
///         when it is known, which is ambiguous
[[nodiscard]] double parse_time(const std::string& text, const StartTime& start);

/// Offset of an IANA zone from UTC at a moment. \throws Error(input) for an unknown zone
[[nodiscard]] int zone_offset_s(const std::string& zone_name, double utc_s);

/// The moments (UTC) at which clocks in an IANA zone show a civil time: one; two in order where a
/// clock change repeats it; none where it skips it. \throws Error(input) as above
[[nodiscard]] std::vector<double> utc_of_civil(const std::string& zone_name, double civil_s);

} // namespace lull
