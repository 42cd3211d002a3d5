// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/welch.hpp"

#include "signal/fft.hpp"

namespace lull {
namespace {

double mean_of(std::span<const float> samples) {
    double sum = 0.0;
    for (const float x : samples)
        sum += static_cast<double>(x);
    return sum / static_cast<double>(samples.size());
}

} // namespace

Density welch_density(std::span<const float> samples, double rate_hz, std::size_t segment,
                      WindowKind kind) {
    Density density{rate_hz / static_cast<double>(segment), {}};
    if (segment < 2 || samples.size() < segment) return density;
    const RealFft fft(segment);
    const std::vector<float> window = periodic_window(kind, segment);
    std::vector<float> windowed(segment);
    std::vector<std::complex<float>> spectrum(fft.bins());
    density.power.resize(fft.bins());
    const std::size_t hop = segment - segment / 2;
    double segments = 0.0;
    for (std::size_t first = 0; first + segment <= samples.size(); first += hop) {
        const auto part = samples.subspan(first, segment);
        const auto mean = static_cast<float>(mean_of(part));
        for (std::size_t i = 0; i < segment; ++i)
            windowed[i] = (part[i] - mean) * window[i];
        fft.forward(windowed, spectrum);
        for (std::size_t k = 0; k < spectrum.size(); ++k)
            density.power[k] += static_cast<double>(std::norm(spectrum[k]));
        segments += 1.0;
    }
    double squares = 0.0;
    for (const float w : window)
        squares += static_cast<double>(w) * static_cast<double>(w);
    for (std::size_t k = 0; k < density.power.size(); ++k) {
        // Negative frequencies are folded in. 0 Hz, and half the rate of an even segment, have
        // none.
        const bool alone = k == 0 || 2 * k == segment;
        density.power[k] *= (alone ? 1.0 : 2.0) / (rate_hz * squares * segments);
    }
    return density;
}

} // namespace lull
