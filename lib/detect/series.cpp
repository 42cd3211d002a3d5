// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/series.hpp"

#include "detect/internal/group_features.hpp"
#include "detect/internal/logistic.hpp"
#include "detect/internal/resemblance.hpp"
#include "detect/internal/rhythm.hpp"
#include "detect/series_forest.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace lull {

namespace {

constexpr std::size_t endless = 12;      ///< taps without a pause: more than a person answers with
constexpr double told_apart_under = 0.2; ///< a group this unlikely is called what it resembles
constexpr double most_endless = 0.3;
constexpr double least_clear = 0.1;      ///< a clear impulse stays listed, whatever its group
constexpr std::size_t slow_beats = 6;    ///< impulses further apart than taps that keep a beat
constexpr double slow_regularity = 0.8;  ///< from which they do
constexpr double threshold_score = 10.0; ///< log likelihood ratio just under the candidates'
constexpr double fading_score = 10.0;    ///< and how fast chance fades above it

/// Why the taps of a group are taken for something else.
std::string other_words(const TapGroup& group, const std::string& named) {
    const std::string run = group.count >= endless ? " without a pause" : "";
    return fmt::format("one of {}{} at {:.2f} s, spread {:.0f} %: {}", group.count, run,
                       group.interval_s, 100.0 * (1.0 - group.regularity),
                       named.empty() ? "goes on longer than knocks that wait for an answer"
                                     : "resembles " + named);
}

/// A group of two taps or more, judged.
struct JudgedGroup {
    TapGroup group;
    double probability = 0.0;
    std::string resembles; ///< what it sounds like when it is no knocking; empty: nothing known
};

struct JudgedChain {
    Chain chain;
    std::vector<JudgedGroup> groups;
};

JudgedChain judge(Chain&& chain, const Surroundings& surroundings) {
    JudgedChain judged;
    const std::vector<TapGroup>& groups = chain.groups;
    for (std::size_t g = 0; g < groups.size(); ++g) {
        if (groups[g].count < 2) continue;
        const GroupFeatures features = surroundings.features_of(chain, g);
        double p = probability(log_odds({series_bias, series_nodes}, series_features(features)));
        if (groups[g].count >= endless) p = std::min(p, most_endless);
        judged.groups.push_back({groups[g], p, resemblance(features)});
    }
    judged.chain = std::move(chain);
    return judged;
}

void settle_group(std::vector<Event>& events, const Chain& chain, const JudgedGroup& judged,
                  int series) {
    const TapGroup& group = judged.group;
    const bool told_apart = group.count >= endless ||
                            (judged.probability < told_apart_under && !judged.resembles.empty());
    for (std::size_t i = group.first; i < group.first + group.count; ++i) {
        Event& event = events[chain.members[i]];
        event.series = series;
        if (told_apart) {
            event.kind = EventKind::other;
            event.why += "; " + other_words(group, judged.resembles);
            continue;
        }
        // The group says more of a tap than the tap alone: it carries its taps up and down.
        event.confidence = std::max(judged.probability, std::min(event.confidence, least_clear));
        event.why +=
            fmt::format("; one of {} at {:.2f} s intervals", group.count, group.interval_s);
    }
}

/// Groups of a chain with two taps or more, near each other, make one series.
Series settle_chain(std::vector<Event>& events, const JudgedChain& judged, int number) {
    Series series;
    series.number = number;
    double weight = 0.0;
    double strongest = -1e9;
    for (const JudgedGroup& one : judged.groups) {
        const TapGroup& group = one.group;
        const auto taps = static_cast<double>(group.count);
        weight += taps;
        series.interval_s += taps * group.interval_s;
        series.regularity += taps * group.regularity;
        series.confidence = std::max(series.confidence, one.probability);
        for (std::size_t i = group.first; i < group.first + group.count; ++i) {
            const Event& event = events[judged.chain.members[i]];
            series.events.push_back(event.number);
            for (const Arrival& arrival : event.arrivals) {
                if (arrival.snr_db.value_or(40.0) <= strongest) continue;
                strongest = arrival.snr_db.value_or(40.0);
                series.channel = arrival.channel;
            }
        }
        settle_group(events, judged.chain, one, number);
    }
    series.interval_s /= weight;
    series.regularity /= weight;
    series.taps = static_cast<int>(series.events.size());
    series.from_s = events[static_cast<std::size_t>(series.events.front()) - 1].onset_s;
    series.to_s = events[static_cast<std::size_t>(series.events.back()) - 1].end_s;
    return series;
}

/// Impulses too far apart for a group that still keep a beat: a slow drip, a clock, a gate.
void tell_slow_beats(std::vector<Event>& events, const Chain& chain) {
    if (chain.members.size() < slow_beats) return;
    std::vector<std::size_t> singles;
    std::vector<double> times;
    for (const TapGroup& group : chain.groups) {
        if (group.count > 1) continue;
        singles.push_back(chain.members[group.first]);
        times.push_back(events[singles.back()].onset_s);
    }
    if (singles.size() < slow_beats) return;
    GroupFeatures beat;
    const TapGroup rhythm = rhythm_of(times);
    beat.taps = static_cast<double>(times.size());
    beat.interval_s = rhythm.interval_s;
    beat.regularity = rhythm.regularity;
    if (beat.regularity < slow_regularity) return;
    const std::string named = resemblance(beat);
    for (const std::size_t e : singles) {
        events[e].kind = EventKind::other;
        events[e].why += "; " + other_words(rhythm, named.empty() ? "a drip" : named);
    }
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
    Surroundings surroundings(events);
    std::vector<JudgedChain> judged;
    std::vector<Chain> chains = chain_alike(events);
    surroundings.add_runs(chains);
    for (const Chain& chain : chains)
        tell_slow_beats(events, chain);
    for (Chain& chain : chains) {
        JudgedChain one = judge(std::move(chain), surroundings);
        if (!one.groups.empty()) judged.push_back(std::move(one));
    }
    std::vector<Series> found;
    for (const JudgedChain& one : judged)
        found.push_back(settle_chain(events, one, static_cast<int>(found.size()) + 1));
    doubt_the_faint(events);
    return found;
}

} // namespace lull
