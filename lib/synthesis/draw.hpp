// SPDX-License-Identifier: GPL-3.0-or-later
//
// Draws events from a plan's ranges.
#pragma once

#include "synthesis/sounds.hpp"

#include <vector>

namespace lull {

/// The events of a plan in order of time. What decides their difficulty (kind, material, target
/// SNR, number of knocks) is drawn from the seed only; place, time and exact sound also from the
/// variant. So variants differ in everything except difficulty. Times drawn from a range keep 1.5 s
/// from other events where there is room.
[[nodiscard]] std::vector<DrawnEvent> draw_events(const Plan& plan, std::uint64_t seed,
                                                  int variant);

/// Another time, from the same range and clear of all other events, for an event that is masked by
/// noise at its time. The same time if the plan fixes it.
/// \param turn  number of earlier moves
[[nodiscard]] double another_time(const Plan& plan, const std::vector<DrawnEvent>& events,
                                  std::size_t event, int turn);

} // namespace lull
