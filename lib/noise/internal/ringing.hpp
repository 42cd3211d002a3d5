// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a narrow filter still says of an event after the event has ended.
#pragma once

#include <span>
#include <vector>

namespace lull {

/// Which powers of a third-octave band's track may be no more than the filter's rise before an
/// event or its ringing after it. A Butterworth band-pass of order 4 per edge gives its power of
/// before back within 0.6/bandwidth, 2 dB down, and from then on falls by 10.4 dB in every
/// 1/bandwidth (8.69 dB * 2 * pi/2 * sin(pi/8), its least damped pole).
///
/// \param power         mean square, a value for each hop
/// \param floor         a first estimate of the floor, a value for each hop
/// \param hop_s, bandwidth_hz  > 0
/// Events are told from noise by 9 dB over the floor; what rings at less than a tenth of the floor
/// is not marked.
[[nodiscard]] std::vector<char> ringing(std::span<const float> power, std::span<const float> floor,
                                        double hop_s, double bandwidth_hz);

} // namespace lull
