// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/imprint.hpp"

#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdint>
#include <numbers>
#include <vector>

namespace lull {

namespace {

constexpr double kept_rate_hz = 4000.0; ///< about: enough for a band that ends at 2 kHz
constexpr std::size_t kept_samples = 256;
constexpr double before_s = 0.003;
constexpr double rise_s = 0.003, fall_s = 0.016; ///< of the window, half a cosine each
constexpr double highest_share = 0.45;           ///< of the rate
constexpr float largest = 127.0F;

/// Means over `factor` samples from `first` on, windowed.
std::vector<float> beginning_of(std::span<const float> waveform, std::size_t first,
                                std::size_t factor, double rate_hz) {
    std::vector<float> kept(kept_samples, 0.0F);
    const std::size_t count = std::min(kept_samples, (waveform.size() - first) / factor);
    const double kept_hz = rate_hz / static_cast<double>(factor);
    for (std::size_t i = 0; i < count; ++i) {
        float sum = 0.0F;
        for (std::size_t k = 0; k < factor; ++k)
            sum += waveform[first + i * factor + k];
        const double in = (static_cast<double>(i) + 0.5) / (rise_s * kept_hz);
        const double out = (static_cast<double>(kept_samples - i) - 0.5) / (fall_s * kept_hz);
        const double part = std::min(in, out);
        kept[i] = part >= 1.0
                      ? sum
                      : sum * static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * part));
    }
    return kept;
}

double mean_power(std::span<const float> x) {
    double sum = 0.0;
    for (const float v : x)
        sum += static_cast<double>(v) * static_cast<double>(v);
    return x.empty() ? 0.0 : sum / static_cast<double>(x.size());
}

} // namespace

Imprint take_imprint(std::span<const float> waveform, double first_s, std::size_t onset,
                     double rate_hz, double floor_power) {
    const auto factor = static_cast<std::size_t>(std::max(1.0, std::floor(rate_hz / kept_rate_hz)));
    const std::size_t first = onset - std::min(onset, static_cast<std::size_t>(before_s * rate_hz));
    const std::vector<float> kept = beginning_of(waveform, first, factor, rate_hz);
    const RealFft fft(kept_samples);
    std::vector<std::complex<float>> spectrum(fft.bins());
    fft.forward(kept, spectrum);
    const double spacing_hz =
        rate_hz / static_cast<double>(factor) / static_cast<double>(kept_samples);
    const double last_hz = std::min(imprint_to_hz, highest_share * rate_hz);
    const auto begin = static_cast<std::size_t>(std::ceil(imprint_from_hz / spacing_hz));
    const std::size_t end = std::min({spectrum.size(), begin + most_imprint_bins,
                                      static_cast<std::size_t>(last_hz / spacing_hz) + 1});
    float peak = 0.0F;
    for (std::size_t k = begin; k < end; ++k)
        peak = std::max(peak, std::abs(spectrum[k]));
    Imprint imprint;
    if (!(peak > 0.0F) || !std::isfinite(peak)) return imprint;
    const double start_s =
        first_s + (static_cast<double>(first) + 0.5 * static_cast<double>(factor - 1)) / rate_hz;
    double energy = 0.0;
    for (std::size_t k = begin; k < end; ++k) {
        const double turns = std::fmod(static_cast<double>(k) * spacing_hz * start_s, 1.0);
        const std::complex<double> bin =
            std::polar(std::sqrt(static_cast<double>(std::abs(spectrum[k]) / peak)),
                       static_cast<double>(std::arg(spectrum[k])) - 2.0 * std::numbers::pi * turns);
        for (const double part : {bin.real(), bin.imag()}) {
            imprint.bins.push_back(
                static_cast<std::int8_t>(std::lround(part * static_cast<double>(largest))));
            energy += static_cast<double>(imprint.bins.back()) * imprint.bins.back();
        }
    }
    imprint.spacing_hz = static_cast<float>(spacing_hz);
    imprint.norm = static_cast<float>(std::sqrt(energy));
    const double power = mean_power(
        waveform.subspan(first, std::min(kept_samples * factor, waveform.size() - first)));
    imprint.signal_share =
        static_cast<float>(std::clamp(1.0 - floor_power / std::max(power, 1e-30), 0.02, 1.0));
    return imprint;
}

} // namespace lull
