// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/imprint.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace lull {

namespace {

constexpr double kept_rate_hz = 4000.0; ///< about: enough for a band that ends at 2 kHz
constexpr double before_s = 0.003;
constexpr double length_s = 0.04;
constexpr int largest = 127;
constexpr int most_lag = 8; ///< samples: 2 ms, as far as two onsets may be off

double correlation_at(const std::vector<std::int8_t>& a, const std::vector<std::int8_t>& b,
                      int lag) {
    const auto n = static_cast<int>(std::min(a.size(), b.size()));
    int sum = 0;
    for (int i = std::max(0, -lag); i < std::min(n, n - lag); ++i)
        sum += static_cast<int>(a[static_cast<std::size_t>(i)]) *
               static_cast<int>(b[static_cast<std::size_t>(i + lag)]);
    return sum;
}

} // namespace

Imprint take_imprint(std::span<const float> waveform, std::size_t onset, double rate_hz,
                     double floor_power) {
    const auto factor = static_cast<std::size_t>(std::max(1.0, std::floor(rate_hz / kept_rate_hz)));
    const auto before = std::min(onset, static_cast<std::size_t>(before_s * rate_hz));
    const std::size_t first = onset - before;
    const std::size_t count =
        std::min(static_cast<std::size_t>(length_s * rate_hz), waveform.size() - first) / factor;
    std::vector<float> thin(count);
    double power = 0.0;
    float peak = 0.0F;
    for (std::size_t i = 0; i < count; ++i) {
        for (std::size_t k = 0; k < factor; ++k) {
            const float v = waveform[first + i * factor + k];
            thin[i] += v;
            power += static_cast<double>(v) * v;
        }
        peak = std::max(peak, std::abs(thin[i]));
    }
    Imprint imprint;
    if (!(peak > 0.0F)) return imprint;
    power /= static_cast<double>(count * factor);
    imprint.signal_share = static_cast<float>(std::clamp(1.0 - floor_power / power, 0.02, 1.0));
    imprint.samples.resize(count);
    double energy = 0.0;
    for (std::size_t i = 0; i < count; ++i) {
        imprint.samples[i] =
            static_cast<std::int8_t>(std::lround(thin[i] / peak * static_cast<float>(largest)));
        energy += static_cast<double>(imprint.samples[i]) * imprint.samples[i];
    }
    imprint.norm = static_cast<float>(std::sqrt(energy));
    return imprint;
}

ImprintMatch match(const Imprint& a, const Imprint& b) {
    if (a.samples.empty() || b.samples.empty()) return {};
    double best = -1e9;
    for (int lag = -most_lag; lag <= most_lag; ++lag)
        best = std::max(best, correlation_at(a.samples, b.samples, lag));
    return {best / (static_cast<double>(a.norm) * b.norm),
            std::sqrt(static_cast<double>(a.signal_share) * b.signal_share)};
}

ImprintMatch match(const Event& a, const Event& b) {
    ImprintMatch mean;
    double weight = 0.0;
    for (const Arrival& x : a.arrivals) {
        for (const Arrival& y : b.arrivals) {
            if (x.channel != y.channel) continue;
            const ImprintMatch one = match(x.shape.imprint, y.shape.imprint);
            mean.correlation += one.expected * one.correlation;
            mean.expected += one.expected * one.expected;
            weight += one.expected;
        }
    }
    if (weight <= 0.0) return {};
    return {mean.correlation / weight, mean.expected / weight};
}

} // namespace lull
