// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/score.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace lull {
namespace {

constexpr double tail_95 = 0.025;

double normal_density(double z) {
    return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
}

Estimate around(double value, double variance) {
    const double reach = deviate_95 * std::sqrt(variance);
    return {value, value - reach, value + reach};
}

double f_from_share(double share) {
    return 2.0 * share / (1.0 + share);
}

} // namespace

Estimate proportion(int part, int total) {
    if (total <= 0) return {};
    const double n = total, p = part / n, z2 = deviate_95 * deviate_95;
    const double middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    const double reach =
        deviate_95 / (1.0 + z2 / n) * std::sqrt(p * (1.0 - p) / n + z2 / (4.0 * n * n));
    // At the ends the interval is exactly closed; rounding would leave it 1e-17 beyond.
    return {p, part == 0 ? 0.0 : middle - reach, part == total ? 1.0 : middle + reach};
}

Estimate precision_of(const Counts& c) {
    return proportion(c.hits, c.hits + c.false_calls);
}
Estimate recall_of(const Counts& c) {
    return proportion(c.hits, c.hits + c.misses);
}

Estimate f_score_of(const Counts& c) {
    const Estimate share = proportion(c.hits, c.hits + c.misses + c.false_calls);
    if (!share.value) return {};
    return {f_from_share(*share.value), f_from_share(*share.low), f_from_share(*share.high)};
}

Estimate change_of_share(int first_part, int first_total, int second_part, int second_total) {
    const Estimate a = proportion(first_part, first_total);
    const Estimate b = proportion(second_part, second_total);
    if (!a.value || !b.value) return {};
    const double change = *b.value - *a.value;
    const double down = std::hypot(*b.value - *b.low, *a.high - *a.value);
    const double up = std::hypot(*b.high - *b.value, *a.value - *a.low);
    return {change, change - down, change + up};
}

Estimate median_of(std::vector<double> values) {
    if (values.empty()) return {};
    std::sort(values.begin(), values.end());
    const std::size_t n = values.size();
    Estimate median{0.5 * (values[(n - 1) / 2] + values[n / 2]), {}, {}};
    // Largest k with P(at most k-1 of n on one side) <= 2.5 %. The values k and n+1-k bound the
    // median.
    double below = 0.0, term = std::pow(0.5, static_cast<double>(n));
    std::size_t k = 0;
    while (below + term <= tail_95 && k < n / 2) {
        below += term;
        term *= static_cast<double>(n - k) / static_cast<double>(k + 1);
        ++k;
    }
    if (k == 0) return median;
    median.low = values[k - 1];
    median.high = values[n - k];
    return median;
}

double normal_quantile(double p) {
    // A rough start, then Newton's method on the complementary error function, which is exact to
    // rounding in both tails.
    if (p == 0.5) return 0.0;
    const double tail = std::min(p, 1.0 - p);
    const double t = std::sqrt(-2.0 * std::log(tail));
    double z = t - (2.30753 + 0.27061 * t) / (1.0 + t * (0.99229 + t * 0.04481));
    for (int i = 0; i < 8; ++i)
        z += (0.5 * std::erfc(z / std::numbers::sqrt2) - tail) / normal_density(z);
    return p < 0.5 ? -z : z;
}

Detectability detectability(int yes_with_signal, int with_signal, int yes_without_signal,
                            int without_signal) {
    if (with_signal <= 0 || without_signal <= 0) return {};
    const auto extreme = [](int part, int total) { return part == 0 || part == total; };
    Detectability result;
    result.corrected =
        extreme(yes_with_signal, with_signal) || extreme(yes_without_signal, without_signal);
    const double add = result.corrected ? 0.5 : 0.0;
    const auto rate_of = [add](int part, int total) { return (part + add) / (total + 2.0 * add); };
    const double hit_rate = rate_of(yes_with_signal, with_signal);
    const double alarm_rate = rate_of(yes_without_signal, without_signal);
    const double z_hit = normal_quantile(hit_rate), z_alarm = normal_quantile(alarm_rate);
    const auto variance = [](double rate, double z, double total) {
        const double density = normal_density(z);
        return rate * (1.0 - rate) / (total * density * density);
    };
    const double sum = variance(hit_rate, z_hit, with_signal + 2.0 * add) +
                       variance(alarm_rate, z_alarm, without_signal + 2.0 * add);
    result.d_prime = around(z_hit - z_alarm, sum);
    result.criterion = around(-0.5 * (z_hit + z_alarm), 0.25 * sum);
    return result;
}

Agreement cohen_kappa(std::span<const int> counts, int categories) {
    const std::size_t k = static_cast<std::size_t>(categories);
    std::vector<double> row(k, 0.0), column(k, 0.0);
    Agreement result;
    for (const int count : counts)
        result.slots += count;
    if (result.slots == 0) return result;
    const auto share = [&](std::size_t i, std::size_t j) {
        return static_cast<double>(counts[i * k + j]) / result.slots;
    };
    for (std::size_t i = 0; i < k; ++i)
        for (std::size_t j = 0; j < k; ++j) {
            row[i] += share(i, j);
            column[j] += share(i, j);
        }
    for (std::size_t i = 0; i < k; ++i) {
        result.observed += share(i, i);
        result.by_chance += row[i] * column[i];
    }
    const double room = 1.0 - result.by_chance;
    if (room < 1e-12) return result; // both always gave the same category
    const double kappa = (result.observed - result.by_chance) / room;
    double on = 0.0, off = 0.0;
    for (std::size_t i = 0; i < k; ++i)
        for (std::size_t j = 0; j < k; ++j) {
            const double sum = i == j ? row[i] + column[i] : row[j] + column[i];
            const double weight = i == j ? 1.0 - sum * (1.0 - kappa) : sum;
            (i == j ? on : off) += share(i, j) * weight * weight;
        }
    const double rest = kappa - result.by_chance * (1.0 - kappa);
    const double variance =
        (on + (1.0 - kappa) * (1.0 - kappa) * off - rest * rest) / (result.slots * room * room);
    result.kappa = around(kappa, std::max(variance, 0.0));
    result.kappa.high = std::min(*result.kappa.high, 1.0);
    result.kappa.low = std::max(*result.kappa.low, -1.0);
    return result;
}

} // namespace lull
