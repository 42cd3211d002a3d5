// SPDX-License-Identifier: GPL-3.0-or-later
//
// Windows of many channels as spectra, and what is computed of two of them.
#pragma once

#include "detect/tap_template.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// Ones whose first and last 6 ms are faded by half a cosine.
[[nodiscard]] std::vector<float> fade_window(std::size_t length, double rate_hz);
/// Sum of squares.
[[nodiscard]] double energy_of(std::span<const float> values);

/// Spectra of the window that begins at sample `at` of a block, faded, padded to `size`.
[[nodiscard]] WindowSpectra spectra_of(const Block& block, std::size_t at,
                                       std::span<const float> fade, std::size_t size);

/// Sum of weight * Re(a * conj(b)) over all bins and channels.
[[nodiscard]] double product(std::span<const std::complex<float>> a,
                             std::span<const std::complex<float>> b, std::span<const float> weight);

/// Advances windows in time by a fraction of a sample.
void advance(WindowSpectra& spectra, std::size_t size, double samples);

/// How many samples later than b's the sound of a is, at most `most`: where the product of the two
/// is largest. \param size of the transforms
[[nodiscard]] double best_lag(const WindowSpectra& a, const WindowSpectra& b,
                              std::span<const float> weight, std::size_t size, int most);

/// Expected power of each bin, [channel * bins + bin], of a faded window that holds noise alone:
/// the median of periodograms, so that what lasts less than half of the time is no noise.
[[nodiscard]] std::vector<float> window_noise(const Block& noise, std::span<const float> fade,
                                              std::size_t size);

/// Means over five neighbouring bins.
void smooth_bins(std::span<float> values);

} // namespace lull
