// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/internal/gamma_fit.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr double kept_share = 0.85; // of the quiet distribution that the fit looks at
constexpr double start_share = 0.2; // of all cells that the first pass looks at
constexpr std::size_t table_size = 64;
constexpr double lowest_shape = 0.35, highest_shape = 2000.0;
constexpr int passes = 24;

/// A gamma distribution of mean 1, cut off at its 85th percentile.
struct CutGamma {
    double log_shape = 0.0;
    double cut = 0.0;    ///< the percentile
    double mean = 0.0;   ///< of what is left
    double spread = 0.0; ///< log(mean) - mean(log) of what is left
};

/// By direct summation over the density of the logarithm, which is smooth for every shape.
CutGamma cut_gamma(double shape) {
    const double width = 1.0 / std::sqrt(shape);
    const double low = -std::max(12.0 * width, 30.0 / shape),
                 high = std::log1p(12.0 * width + 30.0 / shape);
    constexpr int points = 20000;
    const double step = (high - low) / points;
    const double scale = shape * std::log(shape) - std::lgamma(shape);
    double mass = 0.0, sum = 0.0, sum_of_log = 0.0, y = low;
    for (int i = 0; i < points; ++i) {
        y = low + (i + 0.5) * step;
        const double density = std::exp(scale + shape * (y - std::exp(y))) * step;
        if (mass + density >= kept_share) break;
        mass += density;
        sum += density * std::exp(y);
        sum_of_log += density * y;
    }
    const double mean = sum / mass;
    return {std::log(shape), std::exp(y), mean, std::log(mean) - sum_of_log / mass};
}

const std::array<CutGamma, table_size>& table() {
    static const std::array<CutGamma, table_size> made = [] {
        std::array<CutGamma, table_size> rows;
        for (std::size_t i = 0; i < table_size; ++i) {
            const double part = static_cast<double>(i) / (table_size - 1);
            rows[i] = cut_gamma(lowest_shape * std::pow(highest_shape / lowest_shape, part));
        }
        return rows;
    }();
    return made;
}

/// The row whose spread is the one observed, between the rows of the table.
CutGamma look_up(double spread) {
    const auto& rows = table();
    const auto after =
        std::lower_bound(rows.begin(), rows.end(), spread,
                         [](const CutGamma& row, double s) { return row.spread > s; });
    if (after == rows.begin()) return rows.front();
    if (after == rows.end()) return rows.back();
    const CutGamma &a = *(after - 1), &b = *after;
    const double part = std::log(spread / a.spread) / std::log(b.spread / a.spread);
    const auto between = [part](double x, double y) { return x + part * (y - x); };
    return {between(a.log_shape, b.log_shape), between(a.cut, b.cut), between(a.mean, b.mean),
            spread};
}

} // namespace

GammaFit fit_lowest_mode(const SortedPowers& powers) {
    const std::size_t count = powers.value.size();
    if (count == 0) return {};
    const auto least = static_cast<std::size_t>(start_share * static_cast<double>(count));
    std::size_t kept = std::clamp<std::size_t>(least, std::min<std::size_t>(8, count), count);
    GammaFit fit;
    for (int pass = 0; pass < passes; ++pass) {
        const auto n = static_cast<double>(kept);
        const double mean = powers.sum[kept] / n;
        const double spread = std::log(mean) - powers.sum_of_log[kept] / n;
        const CutGamma cut = look_up(spread);
        fit.mean = mean / cut.mean;
        fit.shape = std::exp(cut.log_shape);
        const auto end = std::upper_bound(powers.value.begin(), powers.value.end(),
                                          static_cast<float>(fit.mean * cut.cut));
        const auto next = std::max<std::size_t>(
            static_cast<std::size_t>(end - powers.value.begin()), std::min<std::size_t>(8, count));
        if (next == kept) break;
        kept = next;
    }
    fit.share =
        std::min(1.0, static_cast<double>(kept) / (kept_share * static_cast<double>(count)));
    return fit;
}

} // namespace lull
