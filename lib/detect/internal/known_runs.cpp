// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/known_runs.hpp"

#include "detect/internal/source.hpp"
#include "detect/series.hpp"

#include <algorithm>
#include <iterator>
#include <tuple>
#include <utility>

namespace lull {

namespace {

constexpr std::size_t longest_part = 32; ///< taps of a run that are one entry
constexpr std::size_t least_steady = 9;  ///< taps: more than a person knocks in one go
constexpr double steady_from = 0.75;     ///< regularity
constexpr double unlike = 0.0;           ///< log likelihood ratio of one source, from which it is
constexpr std::size_t compared_with = 3; ///< members of a steady run

} // namespace

void KnownRuns::add(const std::vector<Chain>& chains) {
    for (const Chain& chain : chains) {
        for (const TapGroup& group : chain.groups) {
            if (group.count < 2) continue;
            const std::span<const std::size_t> taps =
                std::span(chain.members).subspan(group.first, group.count);
            const bool steady = group.count >= least_steady && group.regularity >= steady_from;
            // In parts, so that what is near is found by its beginning.
            for (std::size_t from = 0; from < taps.size(); from += longest_part) {
                const auto part = taps.subspan(from, std::min(longest_part, taps.size() - from));
                runs_.push_back({events_[part.front()].onset_s, events_[part.back()].onset_s,
                                 static_cast<double>(group.count), steady, chain.members.front(),
                                 part});
            }
        }
    }
    std::sort(runs_.begin(), runs_.end(), [](const KnownRun& a, const KnownRun& b) {
        return std::tuple(a.from_s, a.middle()) < std::tuple(b.from_s, b.middle());
    });
    steady_of_.assign(events_.size(), -1);
    for (std::size_t r = 0; r < runs_.size(); ++r)
        if (runs_[r].steady)
            for (const std::size_t e : runs_[r].members)
                steady_of_[e] = static_cast<std::int32_t>(r);
}

std::span<const KnownRun> KnownRuns::near(double time_s, double reach_s) const {
    const double part_s = static_cast<double>(longest_part) * longest_interval_s;
    const auto earlier = [](const KnownRun& run, double t) { return run.from_s < t; };
    const auto first =
        std::lower_bound(runs_.begin(), runs_.end(), time_s - reach_s - part_s, earlier);
    const auto last = std::lower_bound(first, runs_.end(), time_s + reach_s, earlier);
    return {first, last};
}

double KnownRuns::likeness(const KnownRun& run, std::span<const std::size_t> taps) const {
    double sum = 0.0;
    for (std::size_t i = 0; i < compared_with; ++i) {
        const std::size_t e = run.members[(2 * i + 1) * run.members.size() / (2 * compared_with)];
        for (const std::size_t tap : taps)
            sum += same_source(events_[e], events_[tap]);
    }
    return sum / static_cast<double>(compared_with * taps.size());
}

std::vector<std::size_t> KnownRuns::rivals(std::span<const std::size_t> impulses,
                                           std::span<const std::size_t> taps,
                                           std::size_t chain) const {
    std::vector<std::pair<std::int32_t, bool>> known; // steady runs, and whether they rival
    const auto rival = [&](std::size_t e) {
        const std::int32_t of = steady_of_[e];
        if (of < 0) return true;
        const auto it = std::ranges::find(known, of, &std::pair<std::int32_t, bool>::first);
        if (it != known.end()) return it->second;
        const KnownRun& run = runs_[static_cast<std::size_t>(of)];
        known.emplace_back(of, run.chain == chain || likeness(run, taps) > unlike);
        return known.back().second;
    };
    std::vector<std::size_t> left;
    std::ranges::copy_if(impulses, std::back_inserter(left), rival);
    return left;
}

} // namespace lull
