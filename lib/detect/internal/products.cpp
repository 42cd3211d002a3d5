// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/products.hpp"

#include "signal/correlate.hpp"
#include "signal/fft.hpp"
#include "signal/window.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr double fade_s = 0.006;
constexpr std::size_t each_side = 2; ///< bins

float median(std::vector<float>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// Medians of one channel's periodograms under a Hann window, half overlapping.
void median_periodogram(std::span<const float> x, const RealFft& fft, std::span<float> out) {
    const std::size_t size = fft.size();
    if (x.size() < size) return;
    const std::vector<float> hann = periodic_window(WindowKind::hann, size);
    std::vector<std::vector<float>> powers(fft.bins());
    std::vector<float> windowed(size);
    std::vector<std::complex<float>> spectrum(fft.bins());
    for (std::size_t at = 0; at + size <= x.size(); at += size / 2) {
        for (std::size_t i = 0; i < size; ++i)
            windowed[i] = hann[i] * x[at + i];
        fft.forward(windowed, spectrum);
        for (std::size_t k = 0; k < fft.bins(); ++k)
            powers[k].push_back(std::norm(spectrum[k]));
    }
    // A periodogram's median is ln 2 of its mean.
    const auto factor = static_cast<float>(1.0 / energy_of(hann) / std::numbers::ln2);
    for (std::size_t k = 0; k < fft.bins(); ++k)
        out[k] = factor * median(powers[k]);
}

} // namespace

std::vector<float> fade_window(std::size_t length, double rate_hz) {
    std::vector<float> window(length, 1.0F);
    const auto fade = std::min(length / 2, static_cast<std::size_t>(fade_s * rate_hz));
    for (std::size_t i = 0; i < fade; ++i) {
        const double share = (static_cast<double>(i) + 0.5) / static_cast<double>(fade);
        window[i] = window[length - 1 - i] =
            static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * share));
    }
    return window;
}

double energy_of(std::span<const float> values) {
    double sum = 0.0;
    for (const float v : values)
        sum += static_cast<double>(v) * static_cast<double>(v);
    return sum;
}

WindowSpectra spectra_of(const Block& block, std::size_t at, std::span<const float> fade,
                         std::size_t size) {
    const RealFft fft(size);
    WindowSpectra spectra(static_cast<std::size_t>(block.channels) * fft.bins());
    std::vector<float> window(size);
    std::vector<std::complex<float>> own(fft.bins());
    for (int c = 0; c < block.channels; ++c) {
        const std::span<const float> x = block.channel(c).subspan(at, fade.size());
        for (std::size_t i = 0; i < x.size(); ++i)
            window[i] = fade[i] * x[i];
        fft.forward(window, own);
        std::ranges::copy(own, spectra.begin() + static_cast<std::ptrdiff_t>(
                                                     static_cast<std::size_t>(c) * fft.bins()));
    }
    return spectra;
}

double product(std::span<const std::complex<float>> a, std::span<const std::complex<float>> b,
               std::span<const float> weight) {
    double sum = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        const float real = a[i].real() * b[i].real() + a[i].imag() * b[i].imag();
        sum += static_cast<double>(weight[i]) * static_cast<double>(real);
    }
    return sum;
}

void advance(WindowSpectra& spectra, std::size_t size, double samples) {
    if (samples == 0.0) return;
    const std::size_t bins = size / 2 + 1;
    const double step = 2.0 * std::numbers::pi * samples / static_cast<double>(size);
    for (std::size_t i = 0; i < spectra.size(); ++i)
        spectra[i] = std::complex<float>(std::complex<double>(spectra[i]) *
                                         std::polar(1.0, step * static_cast<double>(i % bins)));
}

double best_lag(const WindowSpectra& a, const WindowSpectra& b, std::span<const float> weight,
                std::size_t size, int most) {
    const std::size_t bins = size / 2 + 1;
    std::vector<std::complex<float>> cross(bins);
    for (std::size_t i = 0; i < a.size(); ++i)
        cross[i % bins] += weight[i] * a[i] * std::conj(b[i]);
    const RealFft fft(size);
    std::vector<float> values(size);
    fft.inverse(cross, values);
    const auto at = [&](int lag) {
        return values[static_cast<std::size_t>(lag + static_cast<int>(size)) % size];
    };
    int best = 0;
    for (int lag = -most; lag <= most; ++lag)
        if (at(lag) > at(best)) best = lag;
    return best + parabolic_peak(at(best - 1), at(best), at(best + 1));
}

std::vector<float> window_noise(const Block& noise, std::span<const float> fade, std::size_t size) {
    const RealFft fft(size);
    std::vector<float> powers(static_cast<std::size_t>(noise.channels) * fft.bins());
    for (int c = 0; c < noise.channels; ++c)
        median_periodogram(
            noise.channel(c), fft,
            std::span(powers).subspan(static_cast<std::size_t>(c) * fft.bins(), fft.bins()));
    const auto factor = static_cast<float>(energy_of(fade));
    for (float& power : powers)
        power *= factor;
    return powers;
}

void smooth_bins(std::span<float> values) {
    const std::vector<float> raw(values.begin(), values.end());
    for (std::size_t i = 0; i < raw.size(); ++i) {
        const std::size_t from = i < each_side ? 0 : i - each_side;
        const std::size_t to = std::min(raw.size(), i + each_side + 1);
        float sum = 0.0F;
        for (std::size_t k = from; k < to; ++k)
            sum += raw[k];
        values[i] = sum / static_cast<float>(to - from);
    }
}

} // namespace lull
