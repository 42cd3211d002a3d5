// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the voice network is shown of a channel: the logarithm of its power in bands, frame by
// frame.
#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

namespace lull {

inline constexpr double log_band_rate_hz = 8000.0;
inline constexpr std::size_t log_band_hop = 128; ///< samples a frame: 16 ms
inline constexpr double log_band_frame_s = 0.016;
inline constexpr std::size_t log_band_count = 68;
inline constexpr std::size_t log_band_context = 250; ///< frames on each side: 4 s

/// What a model must have been fitted on to be used with these bands.
inline constexpr std::string_view log_band_schema =
    "log-bands-1: 8 kHz, 16 ms; 22 bands of 62.5-718.75 Hz from 64 ms, twice 23 of 62.5-4000 Hz "
    "from "
    "16 ms; half the natural logarithm less its mean over 4 s on each side, -2.5 to 5";

/// [frames * log_band_count] of a signal at log_band_rate_hz, a frame for each whole hop. First the
/// bands of a Hann window of 512 samples centred on the frame, 31.25 Hz apart; then those of
/// windows of 128 centred on its two halves. Each is half the logarithm of the band's mean square,
/// less its mean over log_band_context frames on each side (as far as there are), limited to
/// -2.5..5. scripts/train/log_bands.py computes the same.
[[nodiscard]] std::vector<float> log_bands(std::span<const float> samples);

} // namespace lull
