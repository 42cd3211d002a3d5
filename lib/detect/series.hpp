// SPDX-License-Identifier: GPL-3.0-or-later
//
// Series: tapping of one source, joined by rhythm and likeness.
#pragma once

#include "detect/event.hpp"
#include "detect/for_each.hpp"

#include <vector>

namespace lull {

inline constexpr double longest_interval_s =
    7.2;                                        ///< between taps of one run: 6 s as a hand keeps it
inline constexpr double longest_pause_s = 12.0; ///< between groups of one series

/// Joins tapping events into series and settles what is known of each: its members' series number,
/// confidence and `why`. Their kind stays: it says what a sound is like, and no number of taps, no
/// interval and no steadiness makes another of it. Groups of alike impulses speak for a person
/// knocking, and a run that goes on is what its better parts are (parts_of); dense irregular
/// impulses (rain, debris) speak against. What a rhythm resembles (a drip, a clock, steps) is said
/// in `why`. Only a beat that is steadier than hands keep one stays under 0.5. A missed or an extra
/// knock does not break a group.
///
/// \param events in order of onset, numbered; changed in place
/// \param each   does what may be done at once; the result does not depend on it
/// \return series of at least two taps, numbered from 1 in order of their first tap
[[nodiscard]] std::vector<Series> find_series(std::vector<Event>& events,
                                              const ForEach& each = one_by_one);

} // namespace lull
