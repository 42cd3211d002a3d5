// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which impulses deserve a look at their waveform when there are too many to look at each: what
// ticks on and on is known after a few, and shall not keep a knock between the ticks from being
// heard.
#pragma once

#include "detect/event.hpp"

#include <span>
#include <vector>

namespace lull {

/// For each impulse how clearly it stands out, over the number of those around it that are like it
/// in bands and level.
/// \param impulses of one channel, in time order, as measured on the tracks
[[nodiscard]] std::vector<double> rarity(std::span<const Arrival> impulses);

} // namespace lull
