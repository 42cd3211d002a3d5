// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/internal/half_band.hpp"

#include "clones.hpp"
#include "signal/internal/lanes.hpp"

#include <cmath>
#include <numbers>

namespace lull {

std::array<float, half_band_pairs> half_band_taps() {
    constexpr double beta = 8.0;
    std::array<double, half_band_pairs> taps{};
    double sum = 0.0;
    int distance = 1;
    for (double& tap : taps) {
        const double share = distance / (half_band_length / 2 + 1.0);
        tap = std::sin(std::numbers::pi * distance / 2.0) / (std::numbers::pi * distance) *
              std::cyl_bessel_i(0.0, beta * std::sqrt(1.0 - share * share)) /
              std::cyl_bessel_i(0.0, beta);
        sum += 2.0 * tap;
        distance += 2;
    }
    // Half of the gain at 0 Hz comes from the middle tap, half from the others.
    std::array<float, half_band_pairs> scaled{};
    for (std::size_t i = 0; i < taps.size(); ++i)
        scaled[i] = static_cast<float>(0.5 * taps[i] / sum);
    return scaled;
}

LULL_CLONES void halve(const float* in, float* out, int frames, const float* taps) {
    auto* target = reinterpret_cast<FloatLanes*>(out);
    for (int n = 0; n < frames; ++n) {
        const auto* x = reinterpret_cast<const FloatLanes*>(in) + 2 * n + half_band_length / 2;
        FloatLanes sum = 0.5F * x[0];
        for (int i = 0; i < half_band_pairs; ++i)
            sum += taps[i] * (x[2 * i + 1] + x[-(2 * i + 1)]);
        target[n] = sum;
    }
}

} // namespace lull
