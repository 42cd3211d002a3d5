// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/resample.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {

namespace {

constexpr int steps = 512; ///< of the kernel table per zero crossing

/// sinc(x) under a Blackman window of +-16 zero crossings, x in zero crossings, tabulated.
const std::vector<float>& kernel() {
    static const std::vector<float> table = [] {
        using std::numbers::pi;
        std::vector<float> made(interpolation_reach * steps + 2, 0.0F);
        for (int i = 0; i <= interpolation_reach * steps; ++i) {
            const double x = static_cast<double>(i) / steps;
            const double sinc = x == 0.0 ? 1.0 : std::sin(pi * x) / (pi * x);
            const double turn = pi * x / interpolation_reach;
            const double window = 0.42 + 0.5 * std::cos(turn) + 0.08 * std::cos(2.0 * turn);
            made[static_cast<std::size_t>(i)] = static_cast<float>(sinc * window);
        }
        return made;
    }();
    return table;
}

float kernel_at(const std::vector<float>& table, double distance) {
    const double at = std::abs(distance) * steps;
    const auto index = static_cast<std::size_t>(at);
    if (index >= table.size() - 1) return 0.0F;
    const auto part = static_cast<float>(at - static_cast<double>(index));
    return table[index] + part * (table[index + 1] - table[index]);
}

} // namespace

std::vector<float> resample(std::span<const float> samples, double from_hz, double to_hz) {
    const auto& table = kernel();
    const double step = from_hz / to_hz;
    const double scale = from_hz == to_hz ? 1.0 : 0.92 * std::min(1.0, to_hz / from_hz);
    const double reach = interpolation_reach / scale;
    const auto count = static_cast<std::size_t>(static_cast<double>(samples.size()) / step);
    std::vector<float> out(count);
    for (std::size_t n = 0; n < count; ++n) {
        const double centre = static_cast<double>(n) * step;
        const auto first = static_cast<std::ptrdiff_t>(std::max(0.0, std::ceil(centre - reach)));
        const auto last = std::min(static_cast<std::ptrdiff_t>(samples.size()) - 1,
                                   static_cast<std::ptrdiff_t>(std::floor(centre + reach)));
        double sum = 0.0;
        for (std::ptrdiff_t i = first; i <= last; ++i) {
            sum += samples[static_cast<std::size_t>(i)] *
                   kernel_at(table, (centre - static_cast<double>(i)) * scale);
        }
        out[n] = static_cast<float>(sum * scale);
    }
    return out;
}

float value_between(std::span<const float> samples, double position) {
    const auto& table = kernel();
    const auto below = static_cast<std::ptrdiff_t>(std::floor(position));
    double sum = 0.0;
    for (std::ptrdiff_t i = below - interpolation_reach + 1; i <= below + interpolation_reach;
         ++i) {
        sum += samples[static_cast<std::size_t>(i)] *
               kernel_at(table, position - static_cast<double>(i));
    }
    return static_cast<float>(sum);
}

} // namespace lull
