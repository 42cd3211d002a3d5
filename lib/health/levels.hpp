// SPDX-License-Identifier: GPL-3.0-or-later
//
// The levels of the channels table, corrected for changes of gain.
#pragma once

#include "health/health.hpp"
#include "noise/scale_changes.hpp"

namespace lull {

/// Relative to full scale = 1, in the scale of the first measured frame. 0: nothing measured.
struct ChannelLevels {
    double peak = 0.0;           ///< largest absolute sample
    double power = 0.0;          ///< mean square
    double weighted_power = 0.0; ///< A-weighted mean square; 0 where it was not measured
    double hum_factor = 1.0;     ///< converts hum_of(health.hum)->power to that scale
};

/// \param changes  relative to the first measured frame. Steps in which the scale changes are left
///                 out, since turning a knob is audible in them, unless there are no others.
[[nodiscard]] ChannelLevels levels_of(const ChannelHealth& health, const ScaleChanges& changes);

} // namespace lull
