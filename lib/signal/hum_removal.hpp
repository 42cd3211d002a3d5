// SPDX-License-Identifier: GPL-3.0-or-later
//
// Estimates mains hum, to be subtracted.
// Narrow notch filters ring on every knock and lose a mains frequency that drifts. Instead the hum
// itself is estimated over segments of 2 s. The phase comes from the phase advance between short
// blocks: a parabola for a network, unconstrained for a generator under changing load. The
// amplitude of each harmonic is the median over the blocks, so a knock, which is in few of them,
// has no effect. Subtraction has no delay and no memory beyond its segment.
#pragma once

#include "conventions.hpp"

#include <optional>
#include <span>
#include <vector>

namespace lull {

/// Segments begin at multiples of this, counted from frame 0, and are twice as long.
[[nodiscard]] Frame hum_hop(double rate_hz);

/// The hum in frames [from, from + count). The estimates of neighbouring segments are cross-faded.
///
/// \param samples   of one channel, from frame `first` on. They extend a hum_hop before and after
///                  the stretch and begin at a multiple of it, except at the recording's ends. Then
///                  the result does not depend on how a recording is divided
/// \param mains_hz  nominal, 45 to 65; empty: the stronger one of 50 and 60 Hz in each segment.
///                  Followed within 3 Hz, with up to 32 harmonics under 0.45 of the rate. More than
///                  1 Hz off, lines count as a generator's only if the fundamental stands out, or
///                  its second and its third or fourth
/// 0 where no harmonic stands out of the noise.
[[nodiscard]] std::vector<float> hum_in(std::span<const float> samples, Frame first, Frame from,
                                        Frame count, double rate_hz,
                                        std::optional<double> mains_hz);

} // namespace lull
