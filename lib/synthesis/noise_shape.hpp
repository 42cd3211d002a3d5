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
/// dB) has its level. Mid-bands and edges of IEC 61260-1:2014; the density is interpolated between
/// mid-bands in log frequency, then each band is scaled to its level. Outside the listed bands the
/// density falls 24 dB an octave below and 12 dB above.
[[nodiscard]] std::vector<float>
third_octave_power(std::span<const std::array<double, 2>> third_octaves, std::size_t size,
                   double rate_hz);

/// Power in each bin of a layer's typical spectrum, with sum 1 in the band (weights of snr.hpp).
[[nodiscard]] std::vector<float> layer_power(LayerKind kind, bool on_microphone,
                                             double tilt_db_octave,
                                             std::span<const float> band_weights, std::size_t size,
                                             double rate_hz);

/// Sum of power * weight.
[[nodiscard]] double weighted_power(std::span<const float> power, std::span<const float> weights);

} // namespace lull
