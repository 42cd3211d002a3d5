// SPDX-License-Identifier: GPL-3.0-or-later
//
// The inner loop of the third-octave bank: Butterworth band-passes of order 4 per edge.
#pragma once

#include "signal/internal/lanes.hpp"

#include <cstddef>
#include <span>

namespace lull {

/// One band's filter over eight channels. The zeros of every section are at +-1, so only poles and
/// one gain are stored.
struct alignas(sizeof(FloatLanes)) ThirdOctaveBand {
    static constexpr int sections = 4;

    /// \param mid_hz  centre of the band; its upper edge is below rate_hz / 2
    ThirdOctaveBand(std::size_t band, double mid_hz, double rate_hz);

    float one[sections][float_lanes] = {}, two[sections][float_lanes] = {}; ///< state
    double sums[float_lanes] = {}; ///< of the squared outputs
    float a1[sections] = {}, a2[sections] = {}, gain = 1.0F;
    std::size_t band; ///< index among all bands
};

/// Filters a tile of frames through every band and adds to the bands' sums.
void run_bands(std::span<ThirdOctaveBand> bands, const float* tile, int frames);

} // namespace lull
