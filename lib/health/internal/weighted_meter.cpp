// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/weighted_meter.hpp"

#include "signal/a_weighting.hpp"

#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr double window_s = 0.5;
constexpr double lowest_hz = 10.0; // of IEC 61672-1, Table 3

std::size_t window_size(double rate_hz) {
    return 2 * fast_size(static_cast<std::size_t>(0.5 * window_s * rate_hz));
}

} // namespace

WeightedMeter::WeightedMeter(double rate_hz)
    : fft_(window_size(rate_hz)), window_(fft_.size()), windowed_(fft_.size()),
      weight_(fft_.bins(), 0.0), spectrum_(fft_.bins()) {
    const auto n = static_cast<double>(fft_.size());
    for (std::size_t i = 0; i < window_.size(); ++i)
        window_[i] =
            static_cast<float>(std::sin(std::numbers::pi * (static_cast<double>(i) + 0.5) / n));
    for (std::size_t k = 1; k < weight_.size(); ++k) {
        const double hz = static_cast<double>(k) * rate_hz / n;
        if (hz < lowest_hz) continue;
        const double sides = 2 * k == fft_.size() ? 1.0 : 2.0;
        // The squared window sums to half its length.
        weight_[k] = sides * db_to_power(a_weighting_db(hz)) / (n * 0.5 * n);
    }
}

double WeightedMeter::power_of(std::span<const float> samples) {
    for (std::size_t i = 0; i < window_.size(); ++i)
        windowed_[i] = samples[i] * window_[i];
    fft_.forward(windowed_, spectrum_);
    double power = 0.0;
    for (std::size_t k = 0; k < weight_.size(); ++k)
        power += weight_[k] * static_cast<double>(std::norm(spectrum_[k]));
    return power;
}

} // namespace lull
