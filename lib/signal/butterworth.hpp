// SPDX-License-Identifier: GPL-3.0-or-later
//
// Butterworth filters: maximally flat, -3.01 dB at the edges [Butterworth 1930], made digital by
// the bilinear transform with pre-warped edges [Oppenheim & Schafer].
#pragma once

#include "signal/band.hpp"
#include "signal/sections.hpp"

namespace lull {

/// Band-pass of `order` per edge (so 2*order poles, `order` sections), 1 <= order <= 8,
/// 0 < low_hz < high_hz < rate_hz/2. \throws Error(usage) when the band does not fit.
[[nodiscard]] Sections butterworth_bandpass(int order, Band band, double rate_hz);

/// Low-pass and high-pass of `order`, 1..8, corner between 0 and rate_hz/2. \throws Error(usage)
[[nodiscard]] Sections butterworth_lowpass(int order, double corner_hz, double rate_hz);
[[nodiscard]] Sections butterworth_highpass(int order, double corner_hz, double rate_hz);

} // namespace lull
