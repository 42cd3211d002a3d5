// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/thinner.hpp"

#include "clones.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr std::size_t length = 16; ///< samples of the thinned stream
constexpr double beta = 6.0;

LULL_CLONES void filter(const float* in, float* out, std::size_t outputs, std::size_t factor,
                        const float* taps, std::size_t count) {
    constexpr std::size_t lanes = 16; // count is a multiple of it
    for (std::size_t m = 0; m < outputs; ++m) {
        const float* x = in + m * factor;
        float sums[lanes] = {};
        for (std::size_t i = 0; i < count; i += lanes)
            for (std::size_t j = 0; j < lanes; ++j)
                sums[j] += taps[i + j] * x[i + j];
        for (std::size_t half = lanes / 2; half > 0; half /= 2)
            for (std::size_t j = 0; j < half; ++j)
                sums[j] += sums[j + half];
        out[m] = sums[0];
    }
}

} // namespace

Thinner::Thinner(double rate_hz)
    : factor_(static_cast<std::size_t>(std::max(1.0, std::floor(rate_hz / thin_rate_hz)))),
      rate_hz_(rate_hz / static_cast<double>(factor_)) {
    if (factor_ == 1) return;
    const std::size_t count = length * factor_;
    const double middle = static_cast<double>(count / 2 - 1);
    const double corner = 0.5 / static_cast<double>(factor_);
    double sum = 0.0;
    std::vector<double> taps(count, 0.0);
    for (std::size_t i = 0; i + 1 < count; ++i) {
        const double t = static_cast<double>(i) - middle;
        const double share = t / (middle + 1.0);
        const double sinc =
            t == 0.0 ? 2.0 * corner
                     : std::sin(2.0 * std::numbers::pi * corner * t) / (std::numbers::pi * t);
        sum += taps[i] = sinc * std::cyl_bessel_i(0.0, beta * std::sqrt(1.0 - share * share));
    }
    for (const double tap : taps)
        taps_.push_back(static_cast<float>(tap / sum));
}

void Thinner::thin(std::span<const float> in, std::span<float> out) const {
    if (factor_ == 1)
        std::copy_n(in.begin(), out.size(), out.begin());
    else
        filter(in.data(), out.data(), out.size(), factor_, taps_.data(), taps_.size());
}

} // namespace lull
