// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/rhythm.hpp"

#include "detect/internal/likeness.hpp"
#include "detect/series.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace lull {

namespace {

constexpr double least_likeness = 0.22; ///< to follow on in a chain at all
constexpr double shortest_interval_s = 0.11;
constexpr double group_neighbourhood_s = 60.0;
constexpr double crowd_s = 10.0;

double median(std::vector<double> values) {
    const std::size_t half = values.size() / 2;
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(half),
                     values.end());
    return values[half];
}

double log_odds_of(double p) {
    const double q = std::clamp(p, 1e-3, 1.0 - 1e-3);
    return std::log(q / (1.0 - q));
}

/// How well an event follows a chain, 0: not at all. The last two members speak for it.
double follows(const std::vector<Event>& events, const Chain& chain, const Event& event) {
    const Event& last = events[chain.members.back()];
    const double gap = event.onset_s - last.onset_s;
    if (gap < shortest_interval_s || gap > longest_pause_s) return 0.0;
    double likeness = event_likeness(last, event);
    if (chain.members.size() > 1) {
        const Event& earlier = events[chain.members[chain.members.size() - 2]];
        likeness = std::max(likeness, 0.5 * (likeness + event_likeness(earlier, event)));
    }
    if (likeness < least_likeness) return 0.0;
    return likeness / (1.0 + 0.1 * gap);
}

/// Steps from one beat to the next as long as impulses of any kind fall near the beats, one missed
/// at most in a row, and counts them: what goes on like that is no group.
double beats_beyond(const std::vector<Event>& events, const std::vector<std::size_t>& impulses,
                    double from_s, double step_s) {
    constexpr double most = 8.0;
    constexpr double tolerance = 0.12;
    double at = from_s;
    double count = 0.0;
    int missed = 0;
    while (count < most && missed < 2) {
        const double beat = at + step_s;
        const double reach = tolerance * std::abs(step_s);
        const auto near =
            std::lower_bound(impulses.begin(), impulses.end(), beat - reach,
                             [&](std::size_t e, double t) { return events[e].onset_s < t; });
        const bool hit = near != impulses.end() && events[*near].onset_s <= beat + reach;
        at = hit ? events[*near].onset_s : beat;
        count += hit ? 1.0 : 0.0;
        missed = hit ? 0 : missed + 1;
    }
    return count;
}

/// Shorter of the times to the last impulse before from_s and the first after to_s, at most 12 s.
double pause_around(const std::vector<Event>& events, const std::vector<std::size_t>& impulses,
                    double from_s, double to_s) {
    const auto later = [&](std::size_t e, double t) { return events[e].onset_s < t; };
    const auto first = std::lower_bound(impulses.begin(), impulses.end(), from_s, later);
    const auto after = std::lower_bound(impulses.begin(), impulses.end(), to_s + 1e-6, later);
    double pause = longest_pause_s;
    if (first != impulses.begin()) pause = std::min(pause, from_s - events[*(first - 1)].onset_s);
    if (after != impulses.end()) pause = std::min(pause, events[*after].onset_s - to_s);
    return pause;
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
        double best = 0.0;
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

GroupFeatures group_features(const std::vector<Event>& events, const Chain& chain,
                             const std::vector<TapGroup>& groups, std::size_t group,
                             const std::vector<std::size_t>& impulses) {
    const TapGroup& own = groups[group];
    const auto event = [&](std::size_t i) -> const Event& { return events[chain.members[i]]; };
    const double from = event(own.first).onset_s;
    const double to = event(own.first + own.count - 1).onset_s;
    GroupFeatures features;
    const auto taps = static_cast<double>(own.count);
    features.taps = taps;
    features.interval_s = own.interval_s;
    features.regularity = own.count > 2 ? own.regularity : 0.85;
    for (std::size_t i = own.first; i < own.first + own.count; ++i) {
        if (i > own.first)
            features.likeness += event_likeness(event(i - 1), event(i)) / (taps - 1.0);
        double snr = -20.0;
        for (const Arrival& arrival : event(i).arrivals)
            snr = std::max(snr, arrival.snr_db.value_or(40.0));
        features.snr_db += snr / taps;
        features.alone += log_odds_of(event(i).confidence) / taps;
        features.channels += static_cast<double>(event(i).arrivals.size()) / taps;
    }
    for (const TapGroup& other : groups) {
        const double at = event(other.first).onset_s;
        if (std::abs(at - from) > group_neighbourhood_s) continue;
        if (other.count >= 2 && other.count <= 8) features.groups += 1.0;
        features.longest_run = std::max(features.longest_run, static_cast<double>(other.count));
    }
    const auto begin =
        std::lower_bound(impulses.begin(), impulses.end(), from - crowd_s,
                         [&](std::size_t e, double t) { return events[e].onset_s < t; });
    double others = 0.0;
    for (auto it = begin; it != impulses.end() && events[*it].onset_s <= to + crowd_s; ++it)
        others += 1.0;
    // Groups of the same chain are no crowd.
    for (const TapGroup& other : groups) {
        if (other.count < 2 || other.count > 8) continue;
        for (std::size_t i = other.first; i < other.first + other.count; ++i)
            if (event(i).onset_s >= from - crowd_s && event(i).onset_s <= to + crowd_s)
                others -= 1.0;
    }
    features.goes_on = beats_beyond(events, impulses, to, own.interval_s) +
                       beats_beyond(events, impulses, from, -own.interval_s);
    features.apart = pause_around(events, impulses, from, to) / own.interval_s;
    features.crowd = std::max(0.0, others) * 10.0 / (to - from + 2.0 * crowd_s);
    return features;
}

std::array<double, 14> series_features(const GroupFeatures& f) {
    return {std::log2(std::min(f.taps, 8.0)),
            std::min(std::max(0.0, f.longest_run - 6.0) / 4.0, 3.0),
            f.regularity,
            f.likeness,
            std::clamp(f.snr_db, -5.0, 30.0) / 10.0,
            f.alone,
            std::log1p(f.crowd),
            std::log2(1.0 + std::min(f.groups, 6.0)),
            f.taps > 2.5 ? 0.0 : 1.0,
            std::max(0.0, 0.25 - f.interval_s) / 0.1,
            std::min(f.goes_on, 4.0) / 4.0,
            std::max(0.0, f.goes_on - 4.0) / 4.0,
            std::log2(f.taps + f.goes_on),
            std::log2(std::clamp(f.apart, 0.1, 16.0))};
}

} // namespace lull
