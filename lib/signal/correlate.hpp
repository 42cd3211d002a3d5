// SPDX-License-Identifier: GPL-3.0-or-later
//
// Cross-correlation of two channels through their cross-spectrum.
#pragma once

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// conj(A) * B of two stretches padded with zeros to `size` >= a.size() + b.size() - 1, bins
/// 0..size/2. The bins may be weighted before correlation() transforms them back.
[[nodiscard]] std::vector<std::complex<float>>
cross_spectrum(std::span<const float> a, std::span<const float> b, std::size_t size);

/// r[lag] = sum a[n] b[n + lag], as `size` values: lag >= 0 at [lag], lag < 0 at [size + lag]. A
/// peak at a positive lag means that b hears later (conventions.hpp: delay).
/// \param cross  from cross_spectrum with this size
[[nodiscard]] std::vector<float> correlation(std::span<const std::complex<float>> cross,
                                             std::size_t size);

/// The lag, in samples, of the correlation's own peak near the lag of a largest value. It is the
/// limit of padding the cross-spectrum with zeros, since a band-limited function is known between
/// its samples. Searched within one sample of `near_lag` (which may be negative).
[[nodiscard]] double band_limited_peak(std::span<const std::complex<float>> cross, std::size_t size,
                                       int near_lag);

/// The same by a parabola through three values, of which the middle one is the largest; -0.5..0.5
/// from it. Fast, but biased towards the sample for wide bands.
[[nodiscard]] double parabolic_peak(double before, double middle, double after);

} // namespace lull
