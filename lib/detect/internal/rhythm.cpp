// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/rhythm.hpp"

#include "detect/internal/imprint.hpp"
#include "detect/internal/likeness.hpp"
#include "detect/series.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace lull {

namespace {

constexpr double least_likeness = 0.22; ///< to follow on in a chain at all
constexpr double shortest_interval_s = 0.10;
constexpr double stranger = 0.6;        ///< of the likeness to its companion to come
constexpr int most_companions = 40;     ///< looked at
constexpr double by_chance = 0.25;      ///< correlation of imprints that share only their bands
constexpr double least_expected = 0.45; ///< below, noise decides the correlation

double median(std::vector<double> values) {
    const std::size_t half = values.size() / 2;
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(half),
                     values.end());
    return values[half];
}

/// 0.3..1: what the imprints on the event's strongest channel say of one source. Where noise hides
/// the waveform they say nothing, and two blows of one source may differ: so never 0.
double imprint_likeness(const Event& a, const Event& b) {
    const auto on = [&](const Event& event) -> const Arrival* {
        for (const Arrival& arrival : event.arrivals)
            if (arrival.channel == b.strongest) return &arrival;
        return nullptr;
    };
    const Arrival* x = on(a);
    const Arrival* y = on(b);
    if (!x || !y) return 1.0;
    const ImprintMatch same = match(x->shape.imprint, y->shape.imprint);
    if (same.expected < least_expected) return 1.0;
    const double share = (same.correlation - by_chance) / (same.expected - by_chance);
    return 0.3 + 0.7 * std::clamp(share, 0.0, 1.0);
}

double likeness_of(const Event& a, const Event& b) {
    const double likeness = event_likeness(a, b);
    return likeness < least_likeness ? 0.0 : likeness * imprint_likeness(a, b);
}

/// How well an event follows a chain, 0: not at all. The last two members speak for it.
double follows(const std::vector<Event>& events, const Chain& chain, const Event& event) {
    const Event& last = events[chain.members.back()];
    const double gap = event.onset_s - last.onset_s;
    if (gap < shortest_interval_s || gap > longest_pause_s) return 0.0;
    double likeness = likeness_of(last, event);
    if (chain.members.size() > 1) {
        const Event& earlier = events[chain.members[chain.members.size() - 2]];
        likeness = std::max(likeness, 0.5 * (likeness + likeness_of(earlier, event)));
    }
    return likeness < least_likeness ? 0.0 : likeness / (1.0 + 0.1 * gap);
}

/// How alike the best of those is that may be its next beat: an impulse with a companion of its
/// own to come does not join strangers.
double companion_of(const std::vector<Event>& events, std::size_t e) {
    double best = 0.0;
    int compared = 0;
    for (std::size_t next = e + 1; next < events.size() && compared < most_companions; ++next) {
        if (events[next].kind != EventKind::tapping) continue;
        const double gap = events[next].onset_s - events[e].onset_s;
        if (gap > longest_interval_s) break;
        if (gap < shortest_interval_s) continue;
        ++compared;
        best = std::max(best, likeness_of(events[e], events[next]) / (1.0 + 0.1 * gap));
    }
    return best;
}

} // namespace

std::vector<Chain> chain_alike(const std::vector<Event>& events) {
    std::vector<Chain> chains;
    std::vector<std::size_t> open; // chains that may still go on
    for (std::size_t e = 0; e < events.size(); ++e) {
        if (events[e].kind != EventKind::tapping) continue;
        std::erase_if(open, [&](std::size_t c) {
            return events[chains[c].members.back()].onset_s < events[e].onset_s - longest_pause_s;
        });
        double best = stranger * companion_of(events, e);
        std::optional<std::size_t> to;
        for (const std::size_t c : open) {
            const double fit = follows(events, chains[c], events[e]);
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
        chains[*to].members.push_back(e);
    }
    return chains;
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

std::vector<TapGroup> cut_at_pauses(const std::vector<Event>& events, const Chain& chain) {
    std::vector<double> short_gaps;
    for (std::size_t i = 1; i < chain.members.size(); ++i) {
        const double gap = events[chain.members[i]].onset_s - events[chain.members[i - 1]].onset_s;
        if (gap <= longest_interval_s) short_gaps.push_back(gap);
    }
    // A pause is longer than a missed tap would leave.
    const double pause = short_gaps.empty()
                             ? longest_interval_s
                             : std::clamp(2.4 * median(short_gaps), 0.6, longest_interval_s);
    std::vector<TapGroup> groups;
    std::vector<double> times;
    std::size_t first = 0;
    for (std::size_t i = 0; i <= chain.members.size(); ++i) {
        const bool ends =
            i == chain.members.size() ||
            (!times.empty() && events[chain.members[i]].onset_s - times.back() > pause);
        if (ends) {
            groups.push_back(rhythm_of(times));
            groups.back().first = first;
            first = i;
            times.clear();
        }
        if (i < chain.members.size()) times.push_back(events[chain.members[i]].onset_s);
    }
    return groups;
}

} // namespace lull
