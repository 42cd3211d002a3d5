// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/combine.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace lull {
namespace {

constexpr double agreeing_sigmas = 4.0;

double weight_of(const DelayEstimate& delay) {
    return 1.0 / (delay.sigma_s * delay.sigma_s);
}

/// The part of the variance that changes from knock to knock.
double own_variance(const DelayEstimate& delay) {
    return std::max(0.0, delay.sigma_s * delay.sigma_s - delay.path_sigma_s * delay.path_sigma_s);
}

double weighted_median(std::vector<const DelayEstimate*>& usable) {
    std::ranges::stable_sort(usable, {}, [](const DelayEstimate* d) { return d->delay_s; });
    double total = 0.0, sum = 0.0;
    for (const DelayEstimate* delay : usable)
        total += weight_of(*delay);
    for (const DelayEstimate* delay : usable) {
        sum += weight_of(*delay);
        if (sum >= 0.5 * total) return delay->delay_s;
    }
    return usable.back()->delay_s;
}

} // namespace

DelayEstimate combined_delay(std::span<const DelayEstimate> delays) {
    DelayEstimate result = delays.front();
    std::vector<const DelayEstimate*> usable;
    for (const DelayEstimate& delay : delays)
        if (delay.usable && delay.sigma_s > 0.0) usable.push_back(&delay);
    result.usable = false;
    if (usable.empty()) return result;
    const std::size_t all = usable.size();
    const double median = weighted_median(usable);
    std::erase_if(usable, [&](const DelayEstimate* d) {
        return std::abs(d->delay_s - median) > agreeing_sigmas * d->sigma_s;
    });
    if (2 * usable.size() < all) {
        result.reason = "the events' delays do not agree";
        return result;
    }
    double weights = 0.0, sum = 0.0, squares = 0.0, own = 0.0, path = 0.0;
    for (const DelayEstimate* delay : usable) {
        weights += weight_of(*delay);
        sum += weight_of(*delay) * delay->delay_s;
    }
    result.delay_s = sum / weights;
    result.correlation = 0.0;
    for (const DelayEstimate* delay : usable) {
        const double rest = delay->delay_s - result.delay_s;
        squares += weight_of(*delay) * rest * rest;
        result.correlation += delay->correlation / static_cast<double>(usable.size());
    }
    for (const DelayEstimate* delay : usable) {
        const double share = weight_of(*delay) / weights;
        own += share * share * own_variance(*delay);
        path += share * delay->path_sigma_s * delay->path_sigma_s;
    }
    const auto n = static_cast<double>(usable.size());
    const double spread = usable.size() > 1 ? squares / (n - 1.0) / weights : 0.0;
    result.path_sigma_s = std::sqrt(path);
    result.sigma_s = std::sqrt(std::max(own, spread) + path);
    result.usable = true;
    result.reason.clear();
    return result;
}

} // namespace lull
