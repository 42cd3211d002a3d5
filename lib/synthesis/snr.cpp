// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/snr.hpp"

#include "signal/butterworth.hpp"
#include "signal/fft.hpp"
#include "signal/snr.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

/// Powers of the windows that a rule uses, of noise + g * event, as polynomials in g.
struct Windows {
    std::vector<double> noise, cross, event;

    [[nodiscard]] double level(double gain, LevelRule rule, std::vector<double>& powers) const {
        powers.resize(noise.size());
        for (std::size_t i = 0; i < noise.size(); ++i) {
            powers[i] = noise[i] + gain * (cross[i] + gain * event[i]);
        }
        if (rule == LevelRule::peak_energy) return *std::max_element(powers.begin(), powers.end());
        std::sort(powers.begin(), powers.end());
        double sum = 0.0;
        for (std::size_t i = powers.size() / 2; i < powers.size(); ++i)
            sum += powers[i];
        return sum / static_cast<double>(powers.size() - powers.size() / 2);
    }
};

/// Mean of a*b over each window: windows in steps of 1 ms for the largest, disjoint ones for the
/// louder half.
std::vector<double> window_means(std::span<const float> a, std::span<const float> b, double rate_hz,
                                 LevelRule rule) {
    const auto length = static_cast<std::size_t>(std::lround(peak_energy_window_s * rate_hz));
    const std::size_t hop =
        rule == LevelRule::louder_half ? length : std::max<std::size_t>(1, length / 50);
    std::vector<double> running(a.size() + 1, 0.0);
    for (std::size_t i = 0; i < a.size(); ++i) {
        running[i + 1] = running[i] + static_cast<double>(a[i]) * static_cast<double>(b[i]);
    }
    std::vector<double> means;
    for (std::size_t first = 0; first + length <= a.size(); first += hop) {
        means.push_back((running[first + length] - running[first]) / static_cast<double>(length));
    }
    return means;
}

} // namespace

std::vector<float> band_power_weights(std::size_t size, double rate_hz, Band band) {
    const Sections sections = butterworth_bandpass(4, band, rate_hz);
    std::vector<float> weights(size / 2 + 1);
    for (std::size_t k = 0; k < weights.size(); ++k) {
        const double frequency_hz = static_cast<double>(k) * rate_hz / static_cast<double>(size);
        weights[k] = static_cast<float>(std::norm(response(sections, frequency_hz, rate_hz)));
    }
    return weights;
}

std::vector<float> in_band(std::span<const float> samples, double rate_hz, Band band) {
    // The filter's tail wraps into the padding, not into the samples.
    const RealFft fft(fast_size(samples.size() + static_cast<std::size_t>(0.1 * rate_hz)));
    std::vector<float> padded(fft.size(), 0.0F);
    std::copy(samples.begin(), samples.end(), padded.begin());
    std::vector<std::complex<float>> bins(fft.bins());
    fft.forward(padded, bins);
    const auto weights = band_power_weights(fft.size(), rate_hz, band);
    for (std::size_t k = 0; k < bins.size(); ++k) {
        bins[k] *= std::sqrt(weights[k]) / static_cast<float>(fft.size());
    }
    fft.inverse(bins, padded);
    padded.resize(samples.size());
    return padded;
}

double level_power(std::span<const float> samples, double rate_hz, LevelRule rule) {
    const Windows windows{window_means(samples, samples, rate_hz, rule), {}, {}};
    if (windows.noise.empty()) return 0.0;
    const Windows still{windows.noise, std::vector<double>(windows.noise.size()),
                        std::vector<double>(windows.noise.size())};
    std::vector<double> scratch;
    return still.level(0.0, rule, scratch);
}

std::optional<double> gain_for_level(std::span<const float> noise, std::span<const float> event,
                                     double rate_hz, LevelRule rule, double target) {
    Windows windows{window_means(noise, noise, rate_hz, rule),
                    window_means(noise, event, rate_hz, rule),
                    window_means(event, event, rate_hz, rule)};
    for (double& value : windows.cross)
        value *= 2.0;
    std::vector<double> scratch;
    if (windows.noise.empty() || windows.level(0.0, rule, scratch) >= target) return std::nullopt;
    double low = 0.0, high = 1.0;
    for (int i = 0; i < 400 && windows.level(high, rule, scratch) < target; ++i) {
        low = high;
        high *= 2.0;
    }
    for (int i = 0; i < 60; ++i) {
        const double middle = 0.5 * (low + high);
        (windows.level(middle, rule, scratch) < target ? low : high) = middle;
    }
    return high;
}

std::pair<std::size_t, std::size_t> extent(std::span<const float> event, double rate_hz,
                                           double range_db) {
    const auto hop = static_cast<std::size_t>(std::max(1L, std::lround(0.004 * rate_hz)));
    std::vector<double> powers;
    for (std::size_t first = 0; first < event.size(); first += hop) {
        double sum = 0.0;
        const std::size_t last = std::min(event.size(), first + hop);
        for (std::size_t i = first; i < last; ++i)
            sum += static_cast<double>(event[i]) * static_cast<double>(event[i]);
        powers.push_back(sum);
    }
    if (powers.empty()) return {0, 0};
    const double least =
        *std::max_element(powers.begin(), powers.end()) * std::pow(10.0, -range_db / 10.0);
    const auto loud = [&](double power) { return power >= least && power > 0.0; };
    const auto begin = std::find_if(powers.begin(), powers.end(), loud);
    const auto end = std::find_if(powers.rbegin(), powers.rend(), loud);
    if (begin == powers.end()) return {0, event.size()};
    return {static_cast<std::size_t>(begin - powers.begin()) * hop,
            std::min(event.size(), static_cast<std::size_t>(powers.rend() - end) * hop)};
}

} // namespace lull
