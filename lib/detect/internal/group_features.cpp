// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/group_features.hpp"

#include "detect/internal/chance.hpp"
#include "detect/internal/likeness.hpp"
#include "detect/internal/place_match.hpp"
#include "detect/internal/source.hpp"
#include "detect/series.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <tuple>

namespace lull {

namespace {

constexpr double group_neighbourhood_s = 60.0;
constexpr double crowd_s = 10.0;
constexpr double alike_from = 0.25;     ///< probability of one source that begins to count
constexpr double sure_of_lasting = 0.3; ///< confidence of a voice or horn that explains impulses
constexpr double most_learnt_s = 6.0;   ///< interval of the groups in scenes
constexpr double most_learnt = 6.0;     ///< of the groups in scenes: two more say nothing else
constexpr double steady_beat = 0.8;     ///< regularity up to which people's groups may follow
constexpr double most_dominance_db = 40.0;
constexpr double most_same = 5.0;          ///< log likelihood ratio
constexpr double even_from = 0.7;          ///< regularity of a small group that is no chance
constexpr std::size_t most_compared = 150; ///< of the impulses around a group: more are a crowd

double log_odds_of(double p) {
    const double q = std::clamp(p, 1e-3, 1.0 - 1e-3);
    return std::log(q / (1.0 - q));
}

/// How far the channel that hears an event best stands over the next; over the floor where none
/// does.
double dominance_db(const Event& event) {
    double best = 0.0;
    double next = 0.0;
    for (const Arrival& arrival : event.arrivals) {
        const double snr_db = std::clamp(arrival.snr_db, 0.0, most_dominance_db);
        next = std::max(next, std::min(best, snr_db));
        best = std::max(best, snr_db);
    }
    return best - next;
}

double level_of(const Event& event) {
    return std::max(-20.0, finite_snr_db(snr_of(event)));
}

} // namespace

Surroundings::Surroundings(const std::vector<Event>& events) : events_(events), runs_(events) {
    for (std::size_t e = 0; e < events.size(); ++e) {
        for (const Arrival& arrival : events[e].arrivals)
            channels_ = std::max(channels_, arrival.channel + 1);
        const EventKind kind = events[e].kind;
        if (kind == EventKind::tapping) impulses_.push_back(e);
        const bool named = kind == EventKind::voice_like || kind == EventKind::horn;
        if (named && events[e].confidence >= sure_of_lasting) lasting_.push_back(e);
    }
}

/// Steps from one beat to the next as long as impulses of any kind fall near the beats, one missed
/// at most in a row, and counts them: what goes on like that is no group.
double Surroundings::beats_beyond(std::span<const std::size_t> rivals, double from_s,
                                  double step_s) const {
    constexpr double most = 8.0;
    constexpr double tolerance = 0.12;
    double at = from_s;
    double count = 0.0;
    int missed = 0;
    while (count < most && missed < 2) {
        const double beat = at + step_s;
        const double reach = tolerance * std::abs(step_s);
        const auto near =
            std::lower_bound(rivals.begin(), rivals.end(), beat - reach,
                             [&](std::size_t e, double t) { return events_[e].onset_s < t; });
        const bool hit = near != rivals.end() && events_[*near].onset_s <= beat + reach;
        at = hit ? events_[*near].onset_s : beat;
        count += hit ? 1.0 : 0.0;
        missed = hit ? 0 : missed + 1;
    }
    return count;
}

/// Shorter of the times to the last impulse before from_s and the first after to_s, at most 12 s.
double Surroundings::pause_around(std::span<const std::size_t> rivals, double from_s,
                                  double to_s) const {
    const auto later = [&](std::size_t e, double t) { return events_[e].onset_s < t; };
    const auto first = std::lower_bound(rivals.begin(), rivals.end(), from_s, later);
    const auto after = std::lower_bound(rivals.begin(), rivals.end(), to_s + 1e-6, later);
    double pause = longest_pause_s;
    if (first != rivals.begin()) pause = std::min(pause, from_s - events_[*(first - 1)].onset_s);
    if (after != rivals.end()) pause = std::min(pause, events_[*after].onset_s - to_s);
    return pause;
}

void Surroundings::measure_taps(GroupFeatures& features, const Chain& chain,
                                const TapGroup& own) const {
    const auto taps = static_cast<double>(own.count);
    double squares = 0.0;
    for (std::size_t i = own.first; i < own.first + own.count; ++i) {
        const Event& event = events_[chain.members[i]];
        const double snr = level_of(event);
        features.snr_db += snr / taps;
        squares += snr * snr / taps;
        for (const Arrival& arrival : event.arrivals)
            if (arrival.channel == event.strongest)
                features.centroid_hz += arrival.shape.centroid_hz / taps;
        features.alone += log_odds_of(event.confidence) / taps;
        features.heard += static_cast<double>(event.arrivals.size()) / taps;
        if (channels_ > 1) features.dominance_db += dominance_db(event) / taps;
        const bool covered = std::any_of(lasting_.begin(), lasting_.end(), [&](std::size_t l) {
            return event.onset_s > events_[l].onset_s - 0.05 && event.onset_s < events_[l].end_s;
        });
        features.within_lasting += covered ? 1.0 / taps : 0.0;
        if (i == own.first) continue;
        const Event& before = events_[chain.members[i - 1]];
        const PlaceMatch same = match_places(before, event);
        features.same += same_source(before, event) / (taps - 1.0);
        features.likeness += event_likeness(before, event) / (taps - 1.0);
        features.correlation += same.correlation / (taps - 1.0);
        features.expected += same.expected / (taps - 1.0);
        features.agreement += std::asinh(same.agreement) / (taps - 1.0);
        features.channels += same.channels / (taps - 1.0);
        if (i > own.first + 1)
            features.same_again += same_source(events_[chain.members[i - 2]], event) / (taps - 2.0);
    }
    features.stays = std::asinh(match_places(events_[chain.members[own.first]],
                                             events_[chain.members[own.first + own.count - 1]])
                                    .agreement);
    if (own.count < 3) features.same_again = features.same;
    features.of_channels = channels_;
    features.snr_spread_db = std::sqrt(std::max(0.0, squares - features.snr_db * features.snr_db));
}

void Surroundings::measure_chain(GroupFeatures& features, const Chain& chain,
                                 const TapGroup& own) const {
    const double from = events_[chain.members[own.first]].onset_s;
    std::vector<double> begins;
    for (const TapGroup& other : chain.groups) {
        const double at = events_[chain.members[other.first]].onset_s;
        if (std::abs(at - from) > group_neighbourhood_s) continue;
        begins.push_back(at);
        if (other.count >= 2) features.groups += 1.0;
    }
    // What turns repeats its thumps on the beat; a person waits for an answer.
    if (begins.size() > 3) features.groups_beat = rhythm_of(begins).regularity;
}

void Surroundings::measure_others(GroupFeatures& features, const Chain& chain,
                                  const TapGroup& own) const {
    const std::span<const std::size_t> taps =
        std::span(chain.members).subspan(own.first, own.count);
    const double from = events_[taps.front()].onset_s;
    const double to = events_[taps.back()].onset_s;
    // Taps of other groups of the chain are its own repeats, no crowd.
    std::vector<std::size_t> repeats;
    for (const TapGroup& group : chain.groups) {
        if (group.count < 2) continue;
        for (std::size_t i = group.first; i < group.first + group.count; ++i)
            repeats.push_back(chain.members[i]);
    }
    const std::vector<std::size_t> rivals = rivals_of(chain, own);
    const Event& middle = events_[taps[taps.size() / 2]];
    const auto begin =
        std::lower_bound(rivals.begin(), rivals.end(), from - crowd_s,
                         [&](std::size_t e, double t) { return events_[e].onset_s < t; });
    std::size_t compared = 0;
    double apart = longest_pause_s;
    for (auto it = begin; it != rivals.end() && events_[*it].onset_s <= to + crowd_s; ++it) {
        if (std::binary_search(repeats.begin(), repeats.end(), *it)) continue;
        const Event& other = events_[*it];
        features.crowd += 1.0;
        if (level_of(other) > features.snr_db + 1e-6) features.stronger += 1.0;
        if (++compared > most_compared) continue;
        const double likeness = 1.0 / (1.0 + std::exp(-same_source(middle, other)));
        if (likeness < alike_from) continue;
        features.alike += likeness;
        apart = std::min(apart, std::max({from - other.onset_s, other.onset_s - to, 0.02}));
    }
    const double per_10_s = 10.0 / (to - from + 2.0 * crowd_s);
    for (double* count : {&features.crowd, &features.alike, &features.stronger})
        *count *= per_10_s;
    const double interval_s = std::min(own.interval_s, most_learnt_s);
    features.apart_from_alike = apart / interval_s;
    const Chance chance = chance_of(events_, rivals, taps, repeats_of(chain, own),
                                    (1.0 - features.regularity) * own.interval_s);
    features.by_chance = chance.expected;
    features.goes_on =
        beats_beyond(rivals, to, own.interval_s) + beats_beyond(rivals, from, -own.interval_s);
    features.apart = pause_around(rivals, from, to) / interval_s;
}

/// Steps come and go: their levels rise and fall slowly [ratio of von Neumann 1941: mean square of
/// successive differences over the variance, 2 for levels in no order], and left and right differ.
void Surroundings::measure_course(GroupFeatures& features, const Chain& chain,
                                  const TapGroup& own) const {
    const auto tap = [&](std::size_t i) -> const Event& {
        return events_[chain.members[own.first + i]];
    };
    features.weakest = most_same;
    for (std::size_t i = 1; i < own.count; ++i)
        features.weakest = std::min(features.weakest, same_source(tap(i - 1), tap(i)));
    if (own.count < 4) return;
    double steps = 0.0;
    double squares = 0.0;
    double next = 0.0;
    double other = 0.0;
    for (std::size_t i = 0; i < own.count; ++i) {
        const double off = level_of(tap(i)) - features.snr_db;
        squares += off * off;
        if (i > 0) steps += std::pow(level_of(tap(i)) - level_of(tap(i - 1)), 2);
        if (i > 0) next += same_source(tap(i - 1), tap(i));
        if (i > 1) other += same_source(tap(i - 2), tap(i));
    }
    const auto taps = static_cast<double>(own.count);
    if (squares > taps) features.trend = std::max(0.0, 1.0 - 0.5 * steps / squares);
    features.sides = other / (taps - 2.0) - next / (taps - 1.0);
}

/// What sounds alike and comes in small even groups is the same source again, no rival of the
/// group: rain has none but by chance.
std::vector<std::size_t> Surroundings::repeats_of(const Chain& chain, const TapGroup& own) const {
    const std::size_t middle = chain.members[own.first + own.count / 2];
    std::vector<std::size_t> repeats(chain.members.begin() + static_cast<std::ptrdiff_t>(own.first),
                                     chain.members.begin() +
                                         static_cast<std::ptrdiff_t>(own.first + own.count));
    for (const KnownRun& run : runs_.near(events_[middle].onset_s, chance_reach_s)) {
        if (run.taps < 2.0 || run.middle() == middle) continue;
        std::vector<double> times;
        for (const std::size_t e : run.members)
            times.push_back(events_[e].onset_s);
        if (times.size() > 2 && rhythm_of(times).regularity < even_from) continue;
        if (same_source(events_[middle], events_[run.middle()]) > 0.0)
            repeats.insert(repeats.end(), run.members.begin(), run.members.end());
    }
    std::sort(repeats.begin(), repeats.end());
    return repeats;
}

/// What may speak against a group, as far as any measure looks: never the run that it is part of.
std::vector<std::size_t> Surroundings::rivals_of(const Chain& chain, const TapGroup& own) const {
    const std::span<const std::size_t> taps =
        std::span(chain.members).subspan(own.first, own.count);
    const auto later = [&](std::size_t e, double t) { return events_[e].onset_s < t; };
    const auto first = std::lower_bound(impulses_.begin(), impulses_.end(),
                                        events_[taps.front()].onset_s - chance_reach_s, later);
    const auto last = std::lower_bound(first, impulses_.end(),
                                       events_[taps.back()].onset_s + chance_reach_s, later);
    std::vector<std::size_t> rivals = runs_.rivals({first, last}, taps, chain.members.front());
    const auto whole = std::ranges::find_if(
        chain.groups, [&](const TapGroup& group) { return own.first < group.first + group.count; });
    const auto run = std::span(chain.members).subspan(whole->first, whole->count);
    std::erase_if(rivals, [&](std::size_t e) { return std::ranges::binary_search(run, e); });
    return rivals;
}

GroupFeatures Surroundings::features_of(const Chain& chain, const TapGroup& own) const {
    GroupFeatures features;
    features.taps = static_cast<double>(own.count);
    features.interval_s = own.interval_s;
    features.regularity = own.count > 2 ? own.regularity : 0.85;
    measure_taps(features, chain, own);
    measure_course(features, chain, own);
    measure_chain(features, chain, own);
    measure_others(features, chain, own);
    return features;
}

std::array<double, series_feature_count> series_features(const GroupFeatures& f) {
    const double taps = std::min(f.taps, most_learnt);
    return {std::log2(taps),
            f.agreement,
            f.regularity,
            f.likeness,
            std::clamp(f.snr_db, -5.0, 30.0) / 10.0,
            f.alone,
            std::log1p(f.crowd),
            std::log2(1.0 + std::min(f.groups, 6.0)),
            f.taps > 2.5 ? 0.0 : 1.0,
            std::log2(std::clamp(f.interval_s, 0.1, most_learnt_s) / 0.4),
            std::min(f.goes_on, 4.0) / 4.0,
            std::max(0.0, f.goes_on - 4.0) / 4.0,
            std::log2(taps + f.goes_on),
            std::log2(std::clamp(f.apart, 0.1, 16.0)),
            f.correlation,
            f.expected,
            std::min(f.snr_spread_db, 8.0) / 4.0,
            std::log1p(f.alike),
            std::log1p(f.stronger),
            f.within_lasting,
            std::log2(std::clamp(f.apart_from_alike, 0.1, 16.0)),
            f.same,
            f.weakest,
            std::clamp(f.by_chance, -12.0, 5.0) / 4.0,
            f.trend,
            f.sides,
            f.stays,
            std::max(0.0, f.groups_beat - steady_beat) / (1.0 - steady_beat),
            std::log2(std::max(f.channels, 1.0)),
            std::log2(std::max(f.of_channels, 1.0)),
            std::log2(std::max(f.heard, 1.0)),
            f.dominance_db / 10.0,
            f.same_again};
}

} // namespace lull
