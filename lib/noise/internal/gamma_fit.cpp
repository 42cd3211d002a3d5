// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/internal/gamma_fit.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr double kept_share = 0.85;     // share of the quiet distribution used by the fit
constexpr double start_share = 0.1;     // share of all cells used by the first pass
constexpr std::size_t least_start = 12; // at least so many cells, since narrow bands have few
constexpr std::size_t table_size = 128;
constexpr double lowest_shape = 0.35, highest_shape = 2000.0;
constexpr int passes = 24;
constexpr std::size_t few_cells = 60; // fewer are so uneven that the fit stops on them too soon
constexpr int steps_ahead = 5, steps_ahead_of_few = 8; // a twentieth each
constexpr double least_log_shape = -0.916; // 0.4 of the shape; with less it is not the same noise

/// A gamma distribution of mean 1, truncated at its 85th percentile.
struct CutGamma {
    double log_shape = 0.0;
    double cut = 0.0;        ///< the percentile
    double mean = 0.0;       ///< of the truncated distribution
    double log_spread = 0.0; ///< log of log(mean) - mean(log) of the truncated distribution
};

/// By direct summation over the density of the logarithm, which is smooth for every shape.
CutGamma cut_gamma(double shape) {
    const double width = 1.0 / std::sqrt(shape);
    const double low = -std::max(12.0 * width, 30.0 / shape),
                 high = std::log1p(12.0 * width + 30.0 / shape);
    constexpr int points = 2000;
    const double step = (high - low) / points;
    const double scale = shape * std::log(shape) - std::lgamma(shape);
    double mass = 0.0, sum = 0.0, sum_of_log = 0.0, y = low;
    for (int i = 0; i < points && mass < kept_share; ++i) {
        const double middle = low + (i + 0.5) * step;
        const double power = std::exp(middle);
        const double whole = std::exp(scale + shape * (middle - power)) * step;
        // The percentile lies within the last of them.
        const double part = std::min(1.0, (kept_share - mass) / whole);
        mass += part * whole;
        sum += part * whole * power;
        sum_of_log += part * whole * middle;
        y = low + (i + part) * step;
    }
    const double mean = sum / mass;
    return {std::log(shape), std::exp(y), mean, std::log(std::log(mean) - sum_of_log / mass)};
}

CutGamma between(const CutGamma& a, const CutGamma& b, double part) {
    return {a.log_shape + part * (b.log_shape - a.log_shape), a.cut + part * (b.cut - a.cut),
            a.mean + part * (b.mean - a.mean), a.log_spread + part * (b.log_spread - a.log_spread)};
}

/// Truncated gamma distributions at equal steps of log_spread, the widest first.
struct Table {
    std::array<CutGamma, table_size> rows;
    double first = 0.0, steps_a_unit = 0.0;

    Table() {
        std::array<CutGamma, table_size> by_shape;
        for (std::size_t i = 0; i < table_size; ++i) {
            const double part = static_cast<double>(i) / (table_size - 1);
            by_shape[i] = cut_gamma(lowest_shape * std::pow(highest_shape / lowest_shape, part));
        }
        first = by_shape.front().log_spread;
        steps_a_unit = (table_size - 1) / (by_shape.back().log_spread - first);
        std::size_t at = 0;
        for (std::size_t i = 0; i < table_size; ++i) {
            const double wanted = first + static_cast<double>(i) / steps_a_unit;
            while (at + 2 < table_size && by_shape[at + 1].log_spread > wanted)
                ++at;
            const CutGamma &a = by_shape[at], &b = by_shape[at + 1];
            rows[i] = between(a, b, (wanted - a.log_spread) / (b.log_spread - a.log_spread));
        }
    }
};

/// The distribution with the observed spread, or the nearest in the table.
CutGamma look_up(double spread) {
    static const Table table;
    // If all powers are equal, their spread is only rounding.
    const auto log_spread =
        static_cast<double>(std::log(static_cast<float>(std::max(spread, 1e-12))));
    const double at = std::clamp((log_spread - table.first) * table.steps_a_unit, 0.0,
                                 static_cast<double>(table_size - 1));
    const std::size_t row = std::min(static_cast<std::size_t>(at), table_size - 2);
    return between(table.rows[row], table.rows[row + 1], at - static_cast<double>(row));
}

/// Estimates from the lowest `kept` powers.
struct Implied {
    double mean = 0.0, log_shape = 0.0; ///< of the whole distribution
    double cut = 0.0;                   ///< 85 % of the distribution lies below this power
};

Implied implied_by(std::span<const RunningPower> powers, std::size_t kept) {
    const auto n = static_cast<double>(kept);
    const double mean = powers[kept].sum / n;
    const CutGamma cut = look_up(std::log(mean) - powers[kept].sum_of_log / n);
    const double whole = mean / cut.mean;
    return {whole, cut.log_shape, whole * cut.cut};
}

/// Looks a little further up for more cells that imply more than themselves. A few cells may by
/// chance lie so close together that the fit stops on them. Where events begin, the fit is much
/// less stable.
std::size_t look_ahead(std::span<const RunningPower> powers, std::size_t kept, double log_shape) {
    const int steps = powers.size() > few_cells ? steps_ahead : steps_ahead_of_few;
    for (int step = 1; step <= steps; ++step) {
        const std::size_t ahead =
            kept + std::max<std::size_t>(1, kept * static_cast<std::size_t>(step) / 20);
        if (ahead >= powers.size()) break;
        const Implied there = implied_by(powers, ahead);
        const bool more = there.cut > static_cast<double>(powers[ahead].power);
        if (more && there.log_shape > log_shape + least_log_shape) return ahead;
    }
    return kept;
}

} // namespace

GammaFit fit_lowest_mode(std::span<const RunningPower> powers) {
    const std::size_t count = powers.size() - 1;
    if (count == 0) return {};
    const auto first = static_cast<std::size_t>(start_share * static_cast<double>(count));
    std::size_t kept = std::min(std::max(first, least_start), count);
    Implied fit;
    for (int pass = 0; pass < passes; ++pass) {
        fit = implied_by(powers, kept);
        std::size_t next = kept; // only grows, so that all passes together go over the powers once
        while (next < count && powers[next + 1].power <= static_cast<float>(fit.cut))
            ++next;
        if (next <= kept) next = look_ahead(powers, kept, fit.log_shape);
        if (next <= kept) break;
        kept = next;
    }
    const double share = static_cast<double>(kept) / (kept_share * static_cast<double>(count));
    return {fit.mean, std::exp(fit.log_shape), std::min(1.0, share)};
}

} // namespace lull
