// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/onset.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace lull {

namespace {

constexpr std::size_t least_side = 4; ///< samples on either side of a split

std::vector<double> akaike(std::span<const float> x) {
    const std::size_t n = x.size();
    double total = 0.0;
    for (const float v : x)
        total += static_cast<double>(v) * v;
    const double faintest = total * 1e-9 / static_cast<double>(n) + 1e-30;
    std::vector<double> criterion(n, 0.0);
    double before = 0.0;
    for (std::size_t k = 0; k < n; ++k) {
        const auto left = static_cast<double>(k);
        const auto right = static_cast<double>(n - k);
        if (k >= least_side && n - k > least_side)
            criterion[k] =
                left * std::log(before / left + faintest) +
                (right - 1.0) * std::log(std::max(total - before, 0.0) / right + faintest);
        before += static_cast<double>(x[k]) * x[k];
    }
    return criterion;
}

} // namespace

Onset onset_by_akaike(std::span<const float> waveform, double independence) {
    const std::size_t n = waveform.size();
    if (n < 2 * least_side + 1) return {0.0, static_cast<double>(n)};
    const std::vector<double> criterion = akaike(waveform);
    const std::size_t last = n - least_side;
    std::size_t best = least_side;
    for (std::size_t k = least_side; k < last; ++k)
        if (criterion[k] < criterion[best]) best = k;
    // Akaike weights, exp(-difference/2), for as many independent samples as the band allows.
    const double scale = 0.5 * std::clamp(independence, 0.01, 1.0);
    double weights = 0.0;
    double squares = 0.0;
    for (std::size_t k = least_side; k < last; ++k) {
        const double weight = std::exp(-scale * (criterion[k] - criterion[best]));
        const double off = static_cast<double>(k) - static_cast<double>(best);
        weights += weight;
        squares += weight * off * off;
    }
    return {static_cast<double>(best), std::sqrt(squares / weights + 0.25)};
}

} // namespace lull
