// SPDX-License-Identifier: GPL-3.0-or-later
//
// Mains hum as it runs through a stretch, to be subtracted.
//
// Narrow notches ring on every knock and lose a mains frequency that drifts. Here the hum itself is
// estimated: over segments of 2 s the phase comes from how it turns from one short block to the
// next (a parabola for a network, freely for a generator under changing load), and the amplitude of
// each harmonic is the median over the blocks, so that a knock, which is in few of them, changes
// nothing. Subtracting it has no delay and no memory
// beyond its segment.
#pragma once

#include "conventions.hpp"

#include <optional>
#include <span>
#include <vector>

namespace lull {

/// Segments begin at multiples of this, counted from frame 0, and are twice as long.
[[nodiscard]] Frame hum_hop(double rate_hz);

/// The hum in frames [from, from + count): each segment's, faded into the next one's.
///
/// \param samples   of one channel, from frame `first` on. They reach a hum_hop before and after
///                  the stretch and begin at a multiple of it, except at the recording's ends: then
///                  the result does not depend on how a recording is cut into stretches.
/// \param mains_hz  nominal, 45 to 65; none: the stronger one of 50 and 60 Hz in each segment.
///                  Followed within 3 Hz; up to 32 harmonics under 0.45 of the rate. More than 1 Hz
///                  off, only what also shows at the fundamental, or at its second and third or
///                  fourth, is taken for a generator's.
/// 0 where no harmonic stands out of the noise.
[[nodiscard]] std::vector<float> hum_in(std::span<const float> samples, Frame first, Frame from,
                                        Frame count, double rate_hz,
                                        std::optional<double> mains_hz);

} // namespace lull
