// SPDX-License-Identifier: GPL-3.0-or-later
//
// Halves the rate of eight channels side by side.
#pragma once

#include <array>

namespace lull {

/// Half-band low-pass: every second tap except the middle one is 0. Kaiser window (beta 8) over 35
/// taps: flat within 0.001 dB up to 0.125 of its rate, 80 dB down from 0.375 on [Kaiser 1974].
inline constexpr int half_band_pairs = 9; ///< distinct odd taps
inline constexpr int half_band_length = 4 * half_band_pairs - 1;

/// The taps at distances 1, 3, 5, ... from the middle, whose own tap is 0.5.
[[nodiscard]] std::array<float, half_band_pairs> half_band_taps();

/// out[n] is centred on in[2n + half_band_length/2]; n = 0..frames-1. Both hold 8 floats a frame,
/// on a 32-byte boundary.
void halve(const float* in, float* out, int frames, const float* taps);

} // namespace lull
