// SPDX-License-Identifier: GPL-3.0-or-later
//
// Series: tapping of one source, joined by rhythm and likeness.
#pragma once

#include "detect/event.hpp"

#include <vector>

namespace lull {

inline constexpr double longest_interval_s = 1.6; ///< between taps of one group
inline constexpr double longest_pause_s = 12.0;   ///< between groups of one series

/// Joins tapping events into series and settles what the rhythm says of each: its members' series
/// number, confidence, `why`, and kind. Groups of two to eight alike impulses with pauses between
/// them speak for a person knocking; long strictly periodic runs (drip, clock, machine) and dense
/// irregular ones (rain, debris) against: regularity alone is not a person, and `why` says so. What
/// goes on by itself speaks against what sounds like it, not against a group of another sound. A
/// missed or an extra knock does not break a group.
///
/// \param events in order of onset, numbered; changed in place
/// \return series of at least two taps, numbered from 1 in order of their first tap; those that
///         turned out periodic or irregular keep their low confidence here and kind `other`
[[nodiscard]] std::vector<Series> find_series(std::vector<Event>& events);

} // namespace lull
