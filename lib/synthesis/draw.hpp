// SPDX-License-Identifier: GPL-3.0-or-later
//
// From a plan's ranges to events with everything drawn.
#pragma once

#include "synthesis/sounds.hpp"

#include <vector>

namespace lull {

/// The events of a plan in order of time. What decides how hard they are (kind, material, target
/// SNR, number of knocks) is drawn from the seed alone; where, when and how exactly they sound also
/// from the variant. So variants differ in all but difficulty. Times drawn from a range keep 1.5 s
/// from other events where there is room.
[[nodiscard]] std::vector<DrawnEvent> draw_events(const Plan& plan, std::uint64_t seed,
                                                  int variant);

/// Another time for an event that the noise of its moment drowns, from the same range and clear of
/// all others. The same time when it is the plan's.
/// \param turn  how often it was moved before
[[nodiscard]] double another_time(const Plan& plan, const std::vector<DrawnEvent>& events,
                                  std::size_t event, int turn);

} // namespace lull
