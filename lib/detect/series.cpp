// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/series.hpp"

#include "detect/internal/rhythm.hpp"
#include "detect/weights.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

namespace lull {

namespace {

constexpr std::size_t endless = 12; ///< taps without a pause: more than a person answers with
constexpr double strict = 0.93;     ///< regularity of a drip, a clock or a machine
constexpr double most_endless = 0.3;
constexpr double threshold_score = 10.0; ///< log likelihood ratio just under the candidates'
constexpr double fading_score = 10.0;    ///< and how fast chance fades above it

/// What the rhythm of a long run is called.
std::string run_words(const TapGroup& group) {
    if (group.regularity >= strict)
        return fmt::format(
            "one of {} without a pause at {:.2f} s, spread {:.0f} %: as regular as a "
            "drip, a clock or a machine",
            group.count, group.interval_s, 100.0 * (1.0 - group.regularity));
    return fmt::format("one of {} without a pause: footsteps, hammering, rain or debris rather "
                       "than knocks that wait for an answer",
                       group.count);
}

void settle_group(std::vector<Event>& events, const Chain& chain, const TapGroup& group,
                  double confidence, int series) {
    const bool long_run = group.count >= endless;
    for (std::size_t i = group.first; i < group.first + group.count; ++i) {
        Event& event = events[chain.members[i]];
        event.series = series;
        if (long_run) {
            event.kind = EventKind::other;
            event.why += "; " + run_words(group);
            continue;
        }
        // A tap of a good group may be faint itself: it shares the group's confidence.
        event.confidence = std::max(event.confidence, confidence);
        event.why +=
            fmt::format("; one of {} at {:.2f} s intervals", group.count, group.interval_s);
    }
}

/// Groups of a chain with two taps or more, near each other, make one series.
void settle_chain(std::vector<Event>& events, const Chain& chain,
                  const std::vector<std::size_t>& impulses, std::vector<Series>& found) {
    const std::vector<TapGroup> groups = cut_at_pauses(events, chain);
    std::vector<double> regularity;
    Series series;
    double weight = 0.0;
    double interval = 0.0;
    double regular = 0.0;
    std::vector<std::pair<std::size_t, double>> settled;
    for (std::size_t g = 0; g < groups.size(); ++g) {
        if (groups[g].count < 2) continue;
        double p = probability(log_odds(
            series_weights, series_features(group_features(events, chain, groups, g, impulses))));
        if (groups[g].count >= endless) p = std::min(p, most_endless);
        settled.emplace_back(g, p);
        const auto taps = static_cast<double>(groups[g].count);
        weight += taps;
        interval += taps * groups[g].interval_s;
        regular += taps * groups[g].regularity;
        series.confidence = std::max(series.confidence, p);
    }
    if (settled.empty()) return;
    series.interval_s = interval / weight;
    series.regularity = regular / weight;
    series.number = static_cast<int>(found.size()) + 1;
    double strongest = -1e9;
    for (const auto& [g, p] : settled) {
        for (std::size_t i = groups[g].first; i < groups[g].first + groups[g].count; ++i) {
            const Event& event = events[chain.members[i]];
            series.events.push_back(event.number);
            for (const Arrival& arrival : event.arrivals) {
                if (arrival.snr_db.value_or(40.0) <= strongest) continue;
                strongest = arrival.snr_db.value_or(40.0);
                series.channel = arrival.channel;
            }
        }
        settle_group(events, chain, groups[g], p, series.number);
    }
    series.taps = static_cast<int>(series.events.size());
    series.from_s = events[static_cast<std::size_t>(series.events.front()) - 1].onset_s;
    series.to_s = events[static_cast<std::size_t>(series.events.back()) - 1].end_s;
    found.push_back(std::move(series));
}

/// Noise alone passes the candidates' threshold now and then, just: what no companion supports
/// must stand further over it.
void doubt_the_faint(std::vector<Event>& events) {
    for (Event& event : events) {
        if (event.kind != EventKind::tapping || event.series) continue;
        double score = 0.0;
        for (const Arrival& arrival : event.arrivals)
            score = std::max(score, arrival.shape.score);
        event.confidence *= 1.0 - std::exp(-std::max(0.0, score - threshold_score) / fading_score);
    }
}

} // namespace

std::vector<Series> find_series(std::vector<Event>& events) {
    std::vector<std::size_t> impulses;
    for (std::size_t e = 0; e < events.size(); ++e)
        if (events[e].kind == EventKind::tapping) impulses.push_back(e);
    std::vector<Series> found;
    for (const Chain& chain : chain_alike(events))
        settle_chain(events, chain, impulses, found);
    doubt_the_faint(events);
    return found;
}

} // namespace lull
