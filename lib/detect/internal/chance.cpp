// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/chance.hpp"

#include "detect/internal/source.hpp"
#include "detect/series.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double near_s = 4.0;    ///< of the surroundings that decide when impulses come in bursts
constexpr double weaker_db = 6.0; ///< an impulse this much weaker is no rival
constexpr double least_count = 0.5; ///< impulses: a rate is never known to be zero
constexpr double least_window_s = 0.03;
constexpr double first_interval_s = 1.6; ///< longest in the scenes that the model was fitted to
constexpr std::size_t most_compared = 150;

double level_db(const Event& event) {
    return std::max(-20.0, finite_snr_db(snr_of(event)));
}

/// Impulses that rival the group's own, each 0..1 by how alike it is.
struct Rivals {
    double all = 0.0, near = 0.0; ///< weights within 30 s and within 4 s
};

double mean_likeness(const std::vector<Event>& events, std::span<const std::size_t> taps) {
    double sum = 0.0;
    for (std::size_t i = 1; i < taps.size(); ++i)
        sum += same_source(events[taps[i - 1]], events[taps[i]]);
    return sum / static_cast<double>(taps.size() - 1);
}

} // namespace

Chance chance_of(const std::vector<Event>& events, std::span<const std::size_t> impulses,
                 std::span<const std::size_t> taps, std::span<const std::size_t> repeats,
                 double spread_s) {
    const double from = events[taps.front()].onset_s;
    const double to = events[taps.back()].onset_s;
    const double own = mean_likeness(events, taps);
    double weakest = 99.0;
    for (const std::size_t tap : taps)
        weakest = std::min(weakest, level_db(events[tap]));
    const auto begin =
        std::lower_bound(impulses.begin(), impulses.end(), from - chance_reach_s,
                         [&](std::size_t e, double t) { return events[e].onset_s < t; });
    const auto end =
        std::upper_bound(begin, impulses.end(), to + chance_reach_s,
                         [&](double t, std::size_t e) { return t < events[e].onset_s; });
    // Of a dense crowd, every so many stand for all.
    const auto size = static_cast<std::size_t>(end - begin);
    const std::size_t step = 1 + size / most_compared;
    Rivals rivals;
    for (std::size_t i = 0; i < size; i += step) {
        const std::size_t e = begin[static_cast<std::ptrdiff_t>(i)];
        if (std::binary_search(repeats.begin(), repeats.end(), e)) continue;
        const Event& other = events[e];
        if (level_db(other) < weakest - weaker_db) continue;
        const std::size_t tap = taps[i % taps.size()];
        const double likeness = same_source(events[tap], other);
        // One half as alike in the log counts little.
        const double weight = static_cast<double>(step) * std::min(1.0, std::exp(likeness - own));
        rivals.all += weight;
        if (other.onset_s > from - near_s && other.onset_s < to + near_s) rivals.near += weight;
    }
    Chance chance;
    const double length = to - from;
    chance.rate = std::max((rivals.all + least_count) / (length + 2.0 * chance_reach_s),
                           rivals.near / (length + 2.0 * near_s));
    const double further = 2.0 * std::max(least_window_s, spread_s);
    chance.expected =
        std::log(60.0 * chance.rate) + std::log(1.0 - std::exp(-chance.rate * first_interval_s)) +
        static_cast<double>(taps.size() - 2) * std::log(1.0 - std::exp(-chance.rate * further));
    return chance;
}

} // namespace lull
