// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/rhythm.hpp"

#include "detect/internal/runs.hpp"
#include "detect/internal/source.hpp"
#include "detect/series.hpp"
#include "signal/median.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace lull {

namespace {

constexpr double shortest_pause_s = 0.10; ///< between what follows on in a chain
constexpr std::size_t most_judged = 5;    ///< taps: no more of them speak for or against
constexpr std::size_t part_step = 3;
constexpr double likely_other = -1.5; ///< log likelihood ratio of one source
constexpr double likely_same = 0.5;   ///< log likelihood ratio from which it does
constexpr double forgetting = 0.1;    ///< of it, for each second of the pause

/// The runs and, each alone, the impulses in none of them, in order of their first tap.
std::vector<std::vector<std::size_t>> runs_and_singles(const std::vector<Event>& events,
                                                       const ForEach& each) {
    std::vector<std::size_t> impulses;
    for (std::size_t e = 0; e < events.size(); ++e)
        if (events[e].kind == EventKind::tapping) impulses.push_back(e);
    std::vector<std::vector<std::size_t>> all = find_runs(events, impulses, each);
    std::vector<char> in_run(events.size(), 0);
    for (const std::vector<std::size_t>& run : all)
        for (const std::size_t e : run)
            in_run[e] = 1;
    for (const std::size_t e : impulses)
        if (!in_run[e]) all.push_back({e});
    std::sort(all.begin(), all.end());
    return all;
}

/// How well a run follows a chain, 0: not at all. Two taps of either speak for it.
double follows(const std::vector<Event>& events, const Chain& chain,
               const std::vector<std::size_t>& run) {
    const double pause = events[run.front()].onset_s - events[chain.members.back()].onset_s;
    if (pause < shortest_pause_s || pause > longest_pause_s) return 0.0;
    double same = same_source(events[chain.members.back()], events[run.front()]);
    if (same < likely_other) return 0.0; // whatever another two say: spares comparing them
    if (chain.members.size() > 1 || run.size() > 1) {
        const std::size_t earlier =
            chain.members[std::max<std::size_t>(chain.members.size(), 2) - 2];
        same = 0.5 * (same + same_source(events[earlier], events[run[run.size() > 1 ? 1 : 0]]));
    }
    return same < likely_same ? 0.0 : same - forgetting * pause;
}

/// The rhythm of a chain's taps from `first` on.
TapGroup group_of(const std::vector<Event>& events, const Chain& chain, std::size_t first,
                  std::size_t count) {
    std::vector<double> times;
    for (std::size_t i = first; i < first + count; ++i)
        times.push_back(events[chain.members[i]].onset_s);
    TapGroup group = rhythm_of(times);
    group.first = first;
    return group;
}

} // namespace

std::vector<Chain> chain_alike(const std::vector<Event>& events, const ForEach& each) {
    std::vector<Chain> chains;
    std::vector<std::size_t> open; // chains that may still go on
    for (const std::vector<std::size_t>& run : runs_and_singles(events, each)) {
        std::erase_if(open, [&](std::size_t c) {
            return events[chains[c].members.back()].onset_s <
                   events[run.front()].onset_s - longest_pause_s;
        });
        double best = 0.0;
        std::optional<std::size_t> to;
        for (const std::size_t c : open) {
            const double fit = follows(events, chains[c], run);
            if (fit > best) {
                best = fit;
                to = c;
            }
        }
        if (!to) {
            to = chains.size();
            chains.push_back({});
            open.push_back(*to);
        }
        Chain& chain = chains[*to];
        chain.members.insert(chain.members.end(), run.begin(), run.end());
        chain.groups.push_back(
            group_of(events, chain, chain.members.size() - run.size(), run.size()));
    }
    return chains;
}

std::vector<TapGroup> parts_of(const std::vector<Event>& events, const Chain& chain,
                               const TapGroup& group) {
    if (group.count <= most_judged) return {group};
    const std::size_t last = group.count - most_judged;
    std::vector<TapGroup> parts;
    for (std::size_t from = 0; from < last; from += part_step)
        parts.push_back(group_of(events, chain, group.first + from, most_judged));
    parts.push_back(group_of(events, chain, group.first + last, most_judged));
    return parts;
}

TapGroup rhythm_of(const std::vector<double>& times) {
    TapGroup group;
    group.count = times.size();
    std::vector<double> intervals;
    for (std::size_t i = 1; i < times.size(); ++i)
        intervals.push_back(times[i] - times[i - 1]);
    if (intervals.empty()) return group;
    group.interval_s = median(intervals);
    std::vector<double> off;
    for (const double interval : intervals) {
        const double once = std::abs(interval - group.interval_s);
        const double missed = std::abs(0.5 * interval - group.interval_s);
        off.push_back(std::min(once, missed));
    }
    double sum = 0.0;
    for (const double o : off)
        sum += o;
    group.regularity =
        std::clamp(1.0 - sum / static_cast<double>(off.size()) / group.interval_s, 0.0, 1.0);
    return group;
}

} // namespace lull
