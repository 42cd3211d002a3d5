// SPDX-License-Identifier: GPL-3.0-or-later
//
// One delay from many: all knocks of a series were struck at one place.
#pragma once

#include "compare/delay.hpp"

#include <span>

namespace lull {

/// The delay of one pair of channels from several events of one source: weighted mean of those that
/// agree with the weighted median within four sigmas. The noise's part of its sigma is the larger
/// of what the sigmas and what the spread say; the paths' part does not shrink with their number.
/// Not usable when none is, or fewer than half of the usable ones agree. \param delays  of one
/// pair, in one placement of the sensors; at least one
[[nodiscard]] DelayEstimate combined_delay(std::span<const DelayEstimate> delays);

} // namespace lull
