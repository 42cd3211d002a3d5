// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/envelope.hpp"

#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

std::vector<float> analytic_envelope(std::span<const float> samples) {
    const std::size_t size = samples.size();
    if (size == 0) return {};
    const RealFft fft(size);
    std::vector<std::complex<float>> spectrum(fft.bins());
    fft.forward(samples, spectrum);
    // The Hilbert transform: -90 degrees at all positive frequencies.
    spectrum[0] = 0.0F;
    if (size % 2 == 0) spectrum.back() = 0.0F;
    for (auto& bin : spectrum)
        bin = {bin.imag(), -bin.real()};
    std::vector<float> quadrature(size);
    fft.inverse(spectrum, quadrature);
    std::vector<float> envelope(size);
    for (std::size_t i = 0; i < size; ++i)
        envelope[i] = std::hypot(samples[i], quadrature[i] / static_cast<float>(size));
    return envelope;
}

std::vector<float> short_time_rms(std::span<const float> samples, std::size_t window) {
    const std::size_t half = window / 2, size = samples.size();
    std::vector<double> sums(size + 1); // sums of squares before each sample
    for (std::size_t i = 0; i < size; ++i)
        sums[i + 1] = sums[i] + static_cast<double>(samples[i]) * static_cast<double>(samples[i]);
    std::vector<float> rms(size);
    for (std::size_t i = 0; i < size; ++i) {
        const std::size_t low = i - std::min(i, half), high = std::min(size, i + half + 1);
        const double mean = (sums[high] - sums[low]) / static_cast<double>(high - low);
        rms[i] = static_cast<float>(std::sqrt(mean));
    }
    return rms;
}

} // namespace lull
