// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/series.hpp"

#include "detect/internal/group_features.hpp"
#include "detect/internal/logistic.hpp"
#include "detect/internal/resemblance.hpp"
#include "detect/internal/rhythm.hpp"
#include "models/series_model.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace lull {

namespace {

static_assert(series_model::schema == series_schema);
static_assert(series_model::feature_count == series_feature_count);

constexpr double least_clear = 0.1;  ///< a clear impulse stays listed, whatever its group
constexpr std::size_t long_beat = 9; ///< taps from which a beat says something of who keeps it
constexpr double clockwork = 0.99;   ///< regularity: a practised hand is off by 2 % and more
constexpr double most_clockwork = 0.45;
constexpr const char* sounds_alike = "a drip, a door, steps or handling can sound the same";
constexpr double threshold_score = 10.0; ///< log likelihood ratio just under the candidates'
constexpr double fading_score = 10.0;    ///< and how fast chance fades above it

/// A group of two taps or more, judged.
struct JudgedGroup {
    TapGroup group;
    double probability = 0.0;
    std::string evidence; ///< what the rhythm says, in words
};

struct JudgedChain {
    const Chain* chain = nullptr;
    std::vector<JudgedGroup> groups;
};

/// What a group's rhythm is, and what else it can be.
std::string evidence_of(const TapGroup& group, double centroid_hz) {
    const std::string words =
        fmt::format("one of {} at {:.2f} s intervals; ", group.count, group.interval_s);
    const std::string like = resemblance(group, centroid_hz);
    if (like.empty()) return words + sounds_alike;
    return words + fmt::format("resembles {}: {} taps at {:.2f} s, spread {:.0f} %", like,
                               group.count, group.interval_s, 100.0 * (1.0 - group.regularity));
}

/// How long a run is says nothing of who knocks: it is what its better parts are, the third
/// quartile, since of many parts the best is good by chance.
JudgedGroup judge(const std::vector<Event>& events, const Chain& chain, const TapGroup& group,
                  const Surroundings& surroundings) {
    std::vector<double> odds;
    double centroid_hz = 0.0;
    for (const TapGroup& part : parts_of(events, chain, group)) {
        const GroupFeatures features = surroundings.features_of(chain, part);
        odds.push_back(log_odds(series_model::forest, series_features(features)));
        centroid_hz += features.centroid_hz;
    }
    const auto better = odds.begin() + static_cast<std::ptrdiff_t>(3 * odds.size() / 4);
    std::nth_element(odds.begin(), better, odds.end());
    double p =
        probability(series_model::confidence_offset + series_model::confidence_slope * *better);
    if (group.count >= long_beat && group.regularity >= clockwork) p = std::min(p, most_clockwork);
    return {group, p, evidence_of(group, centroid_hz / static_cast<double>(odds.size()))};
}

void settle_group(std::vector<Event>& events, const Chain& chain, const JudgedGroup& judged,
                  int series) {
    const TapGroup& group = judged.group;
    for (std::size_t i = group.first; i < group.first + group.count; ++i) {
        Event& event = events[chain.members[i]];
        event.series = series;
        // The group says more of a tap than the tap alone: it carries its taps up and down.
        event.confidence = std::max(judged.probability, std::min(event.confidence, least_clear));
        event.why += "; " + judged.evidence;
    }
}

/// Groups of a chain with two taps or more, near each other, make one series.
Series settle_chain(std::vector<Event>& events, const JudgedChain& judged, int number) {
    Series series;
    series.number = number;
    double weight = 0.0;
    const Arrival* best = nullptr;
    for (const JudgedGroup& one : judged.groups) {
        const TapGroup& group = one.group;
        const auto taps = static_cast<double>(group.count);
        weight += taps;
        series.interval_s += taps * group.interval_s;
        series.regularity += taps * group.regularity;
        series.confidence = std::max(series.confidence, one.probability);
        for (std::size_t i = group.first; i < group.first + group.count; ++i) {
            const Event& event = events[judged.chain->members[i]];
            series.events.push_back(event.number);
            for (const Arrival& arrival : event.arrivals) {
                if (best != nullptr && !stronger(arrival, *best)) continue;
                best = &arrival;
                series.channel = arrival.channel;
            }
        }
        settle_group(events, *judged.chain, one, number);
    }
    series.interval_s /= weight;
    series.regularity /= weight;
    series.taps = static_cast<int>(series.events.size());
    series.from_s = events[static_cast<std::size_t>(series.events.front()) - 1].onset_s;
    series.to_s = events[static_cast<std::size_t>(series.events.back()) - 1].end_s;
    return series;
}

/// Impulses in no group. Noise alone passes the candidates' threshold now and then, just: what no
/// companion supports must stand further over it.
void settle_alone(std::vector<Event>& events) {
    for (Event& event : events) {
        if (event.kind != EventKind::tapping || event.series) continue;
        event.why += fmt::format("; {}", sounds_alike);
        double score = 0.0;
        for (const Arrival& arrival : event.arrivals)
            score = std::max(score, arrival.shape.score);
        event.confidence *= 1.0 - std::exp(-std::max(0.0, score - threshold_score) / fading_score);
    }
}

} // namespace

std::vector<Series> find_series(std::vector<Event>& events, const ForEach& each) {
    Surroundings surroundings(events);
    const std::vector<Chain> chains = chain_alike(events, each);
    surroundings.add_runs(chains);
    std::vector<JudgedChain> judged;
    for (const Chain& chain : chains) {
        JudgedChain one{&chain, {}};
        for (const TapGroup& group : chain.groups)
            if (group.count >= 2) one.groups.push_back({group, 0.0, {}});
        if (!one.groups.empty()) judged.push_back(std::move(one));
    }
    each(judged.size(), [&](std::size_t i) {
        for (JudgedGroup& one : judged[i].groups)
            one = judge(events, *judged[i].chain, one.group, surroundings);
    });
    std::vector<Series> found;
    for (const JudgedChain& one : judged)
        found.push_back(settle_chain(events, one, static_cast<int>(found.size()) + 1));
    settle_alone(events);
    return found;
}

} // namespace lull
