// SPDX-License-Identifier: GPL-3.0-or-later
//
// The logistic model: a probability from measured features.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>

namespace lull {

template <std::size_t N>
struct Logistic {
    double bias = 0.0;
    std::array<double, N> weight{};
};

[[nodiscard]] inline double probability(double log_odds) { return 1.0 / (1.0 + std::exp(-log_odds)); }

template <std::size_t N>
[[nodiscard]] double log_odds(const Logistic<N>& model, const std::array<double, N>& features) {
    double sum = model.bias;
    for (std::size_t i = 0; i < N; ++i) sum += model.weight[i] * features[i];
    return sum;
}

} // namespace lull
