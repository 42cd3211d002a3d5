// SPDX-License-Identifier: GPL-3.0-or-later
//
// The spectra of a site's noise.
#pragma once

#include "signal/band.hpp"
#include "synthesis/plan.hpp"

#include <array>
#include <span>
#include <vector>

namespace lull {

/// Power in each of size/2+1 bins such that every listed third octave (nominal mid-band Hz, level
/// dB) carries its level: mid-bands and edges of IEC 61260-1:2014, density interpolated between
/// mid-bands in log frequency, then each band brought to its level. Bands not listed and beyond the
/// ends fall 24 dB an octave below and 12 dB above.
[[nodiscard]] std::vector<float>
third_octave_power(std::span<const std::array<double, 2>> third_octaves, std::size_t size,
                   double rate_hz);

/// Power in each bin of a layer's usual spectrum, adding up to 1 in the band (weights of snr.hpp).
[[nodiscard]] std::vector<float> layer_power(LayerKind kind, bool on_microphone,
                                             double tilt_db_octave,
                                             std::span<const float> band_weights, std::size_t size,
                                             double rate_hz);

/// Sum of power * weight.
[[nodiscard]] double weighted_power(std::span<const float> power, std::span<const float> weights);

} // namespace lull
