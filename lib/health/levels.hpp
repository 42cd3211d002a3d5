// SPDX-License-Identifier: GPL-3.0-or-later
//
// The levels that the channels table shows, with changes of gain put right.
#pragma once

#include "health/health.hpp"
#include "noise/scale_changes.hpp"

namespace lull {

/// Full scale = 1, as the scale at the first measured frame reads it; 0: nothing measured.
struct ChannelLevels {
    double peak = 0.0;           ///< largest absolute sample
    double power = 0.0;          ///< mean square
    double weighted_power = 0.0; ///< A-weighted mean square; 0 where it was not measured
    double hum_factor = 1.0;     ///< refers hum_of(health.hum)->power to that scale
};

/// \param changes  with the first measured frame as reference. Steps in which the scale changes are
///                 left out, since the turning of a knob is heard in them, unless there are no
///                 others.
[[nodiscard]] ChannelLevels levels_of(const ChannelHealth& health, const ScaleChanges& changes);

} // namespace lull
