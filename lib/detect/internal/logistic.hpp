// SPDX-License-Identifier: GPL-3.0-or-later
//
// The logistic model: a probability from measured features and their products.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace lull {

/// Log odds = bias + sum of linear[i] s[i] + sum over i <= j of product[...] s[i] s[j], where
/// s = (feature - mean) / scale, held to -3..3. The products are in the order (0,0), (0,1), ...,
/// (1,1), ...: what a feature says may depend on another (a steady pitch, of a short sound).
template <std::size_t N>
struct Logistic {
    double bias = 0.0;
    std::array<double, N> mean{}, scale{}, linear{};
    std::array<double, N*(N + 1) / 2> product{};
};

[[nodiscard]] inline double probability(double log_odds) {
    return 1.0 / (1.0 + std::exp(-log_odds));
}

template <std::size_t N>
[[nodiscard]] double log_odds(const Logistic<N>& model, const std::array<double, N>& features) {
    std::array<double, N> s{};
    for (std::size_t i = 0; i < N; ++i)
        s[i] = std::clamp((features[i] - model.mean[i]) / model.scale[i], -3.0, 3.0);
    double sum = model.bias;
    std::size_t k = 0;
    for (std::size_t i = 0; i < N; ++i) {
        sum += model.linear[i] * s[i];
        for (std::size_t j = i; j < N; ++j)
            sum += model.product[k++] * s[i] * s[j];
    }
    return sum;
}

} // namespace lull
