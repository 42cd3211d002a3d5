// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/correlate.hpp"

#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

std::vector<std::complex<float>> padded_spectrum(const RealFft& fft, std::span<const float> x) {
    std::vector<float> padded(fft.size());
    std::ranges::copy(x, padded.begin());
    std::vector<std::complex<float>> spectrum(fft.bins());
    fft.forward(padded, spectrum);
    return spectrum;
}

/// Slope of the correlation at any lag, without a constant factor.
double slope_at(std::span<const std::complex<float>> cross, std::size_t size, double lag) {
    const double step = 2.0 * std::numbers::pi / static_cast<double>(size);
    double slope = 0.0;
    for (std::size_t k = 1; k < cross.size(); ++k) {
        const double omega = step * static_cast<double>(k);
        const double share = 2 * k == size ? 1.0 : 2.0; // with the negative frequency
        slope -=
            share * omega * (std::complex<double>(cross[k]) * std::polar(1.0, omega * lag)).imag();
    }
    return slope;
}

} // namespace

std::vector<std::complex<float>> cross_spectrum(std::span<const float> a, std::span<const float> b,
                                                std::size_t size) {
    const RealFft fft(size);
    std::vector<std::complex<float>> cross = padded_spectrum(fft, a);
    const std::vector<std::complex<float>> other = padded_spectrum(fft, b);
    for (std::size_t k = 0; k < cross.size(); ++k)
        cross[k] = std::conj(cross[k]) * other[k];
    return cross;
}

std::vector<float> correlation(std::span<const std::complex<float>> cross, std::size_t size) {
    const RealFft fft(size);
    std::vector<std::complex<float>> bins(cross.begin(), cross.end());
    std::vector<float> values(size);
    fft.inverse(bins, values);
    for (float& value : values)
        value /= static_cast<float>(size);
    return values;
}

double band_limited_peak(std::span<const std::complex<float>> cross, std::size_t size,
                         int near_lag) {
    // The slope crosses zero at a peak. Halves the interval until it is a 4000th of a sample.
    double low = near_lag - 1.0, high = near_lag + 1.0;
    while (high - low > 2.5e-4) {
        const double middle = 0.5 * (low + high);
        (slope_at(cross, size, middle) > 0.0 ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

double parabolic_peak(double before, double middle, double after) {
    const double bend = before - 2.0 * middle + after;
    return bend < 0.0 ? std::clamp(0.5 * (before - after) / bend, -0.5, 0.5) : 0.0;
}

} // namespace lull
