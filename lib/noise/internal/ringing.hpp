// SPDX-License-Identifier: GPL-3.0-or-later
//
// The ringing of a narrow filter after an event.
#pragma once

#include <span>
#include <vector>

namespace lull {

/// Marks powers of a third-octave band's track that may be only the filter's rise before an event
/// or its ringing after one. The power of a Butterworth band-pass of order 4 per edge falls by 2 dB
/// within 0.6/bandwidth, and then by 10.4 dB in each 1/bandwidth (8.69 dB * 2 * pi/2 * sin(pi/8),
/// its least damped pole).
///
/// \param power         mean square, one value a hop
/// \param floor         a first estimate of the floor, one value a hop
/// \param hop_s, bandwidth_hz  > 0
/// Events are powers 9 dB over the floor. Ringing below a fifth of the floor is not marked.
[[nodiscard]] std::vector<char> ringing(std::span<const float> power, std::span<const float> floor,
                                        double hop_s, double bandwidth_hz);

} // namespace lull
