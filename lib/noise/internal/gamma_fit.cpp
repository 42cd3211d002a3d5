// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/internal/gamma_fit.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr double kept_share = 0.85;     // of the quiet distribution that the fit looks at
constexpr double start_share = 0.1;     // of all cells that the first pass looks at
constexpr std::size_t least_start = 24; // and at least so many of them
constexpr std::size_t table_size = 64;
constexpr double lowest_shape = 0.35, highest_shape = 2000.0;
constexpr int passes = 24;
constexpr int steps_ahead = 5;     // of a twentieth each
constexpr double same_shape = 0.4; // of the shape: less is not the same noise

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

/// The fit that the lowest `kept` cells imply, and the power under which it expects 85 %.
struct Implied {
    GammaFit fit;
    double cut = 0.0;
};

Implied implied_by(const SortedPowers& powers, std::size_t kept) {
    const auto n = static_cast<double>(kept);
    const double mean = powers.sum[kept] / n;
    const CutGamma cut = look_up(std::log(mean) - powers.sum_of_log[kept] / n);
    const double whole = mean / cut.mean;
    return {{whole, std::exp(cut.log_shape), 0.0}, whole * cut.cut};
}

/// Whether, a little further up, the cells still imply more than themselves. Few cells can happen
/// to lie so close together that the fit stops on them; where events begin, it is much less steady.
std::size_t look_ahead(const SortedPowers& powers, std::size_t kept, double shape) {
    const std::size_t count = powers.value.size();
    for (int step = 1; step <= steps_ahead; ++step) {
        const std::size_t ahead =
            kept + std::max<std::size_t>(1, kept * static_cast<std::size_t>(step) / 20);
        if (ahead > count) break;
        const Implied there = implied_by(powers, ahead);
        const bool more = there.cut > static_cast<double>(powers.value[ahead - 1]);
        if (more && there.fit.shape > same_shape * shape) return ahead;
    }
    return kept;
}

} // namespace

GammaFit fit_lowest_mode(const SortedPowers& powers) {
    const std::size_t count = powers.value.size(), least = std::min<std::size_t>(8, count);
    if (count == 0) return {};
    const auto first = static_cast<std::size_t>(start_share * static_cast<double>(count));
    std::size_t kept = std::min(std::max(first, least_start), count);
    GammaFit fit;
    for (int pass = 0; pass < passes; ++pass) {
        const Implied now = implied_by(powers, kept);
        fit = now.fit;
        const auto end =
            std::upper_bound(powers.value.begin(), powers.value.end(), static_cast<float>(now.cut));
        auto next = std::max(static_cast<std::size_t>(end - powers.value.begin()), least);
        if (next <= kept) next = look_ahead(powers, kept, fit.shape);
        if (next <= kept) break;
        kept = next;
    }
    fit.share =
        std::min(1.0, static_cast<double>(kept) / (kept_share * static_cast<double>(count)));
    return fit;
}

} // namespace lull
