// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade_group.hpp"

#include "synthesis/random.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr int draws = 2000;
constexpr std::uint64_t draw_seed = 19790101; ///< fixed, so that reports are reproducible
constexpr std::size_t fewest_listeners = 3;

struct Sums {
    Counts counts;
    std::vector<double> places;

    void add(const ListenerGrade& listener) {
        counts.hits += listener.tally.counts.hits;
        counts.misses += listener.tally.counts.misses;
        counts.false_calls += listener.tally.counts.false_calls;
        for (const GradedAnswer& answer : listener.answers)
            if (answer.place_error_m && answer.outcome == Outcome::hit)
                places.push_back(*answer.place_error_m);
    }
    /// Precision, recall, F and median place error.
    [[nodiscard]] std::array<std::optional<double>, 4> figures() const {
        return {precision_of(counts).value, recall_of(counts).value, f_score_of(counts).value,
                median_of(places).value};
    }
};

/// The 2.5 % and 97.5 % points of the draws; empty when some draws have no value.
Estimate with_limits(std::optional<double> value, std::vector<double>& drawn) {
    Estimate estimate{value, {}, {}};
    if (drawn.size() < static_cast<std::size_t>(draws)) return estimate;
    std::sort(drawn.begin(), drawn.end());
    const auto tail = static_cast<std::size_t>(0.025 * draws);
    estimate.low = drawn[tail];
    estimate.high = drawn[drawn.size() - 1 - tail];
    return estimate;
}

std::vector<HeardAt> heard_at(std::span<const EventGrade> events) {
    std::vector<HeardAt> data;
    for (const EventGrade& event : events)
        if (event.event.snr_db && std::isfinite(*event.event.snr_db))
            data.push_back({*event.event.snr_db, event.heard, event.listeners});
    return data;
}

} // namespace

GroupGrade group_of(std::span<const ListenerGrade> listeners, std::span<const EventGrade> events,
                    const GradeRules& rules) {
    GroupGrade group;
    group.listeners = static_cast<int>(listeners.size());
    Sums all;
    for (const ListenerGrade& listener : listeners)
        all.add(listener);
    group.counts = all.counts;
    std::array<std::vector<double>, 4> drawn;
    Random random(draw_seed);
    for (int draw = 0; draw < draws && listeners.size() >= fewest_listeners; ++draw) {
        Sums sums;
        for (std::size_t i = 0; i < listeners.size(); ++i)
            sums.add(listeners[static_cast<std::size_t>(
                random.whole(0, static_cast<int>(listeners.size()) - 1))]);
        const auto figures = sums.figures();
        for (std::size_t f = 0; f < figures.size(); ++f)
            if (figures[f]) drawn[f].push_back(*figures[f]);
    }
    const auto figures = all.figures();
    group.precision = with_limits(figures[0], drawn[0]);
    group.recall = with_limits(figures[1], drawn[1]);
    group.f = with_limits(figures[2], drawn[2]);
    group.place_error_m = with_limits(figures[3], drawn[3]);
    group.curve = fit_hearing_curve(heard_at(events), rules.guess, rules.lapse);
    return group;
}

std::vector<Apart> lying_apart(std::span<const ListenerGrade> listeners) {
    std::vector<Apart> apart;
    for (const ListenerGrade& a : listeners)
        for (const ListenerGrade& b : listeners)
            if (a.tally.f.low && b.tally.f.high && *a.tally.f.low > *b.tally.f.high)
                apart.push_back({a.name, b.name});
    return apart;
}

std::vector<LearningPoint> learning_curve(std::span<const PastScore> scores) {
    std::vector<std::string> names;
    for (const PastScore& score : scores)
        if (std::find(names.begin(), names.end(), score.listener) == names.end())
            names.push_back(score.listener);
    std::vector<LearningPoint> points;
    for (const std::string& name : names) {
        std::optional<Counts> first;
        int turn = 0;
        for (const PastScore& score : scores) {
            if (score.listener != name) continue;
            LearningPoint point{name,         score.exercise,          ++turn,
                                score.counts, recall_of(score.counts), f_score_of(score.counts),
                                {},           score.threshold_db,      score.kinds};
            if (first)
                point.recall_change =
                    change_of_share(first->hits, first->hits + first->misses, score.counts.hits,
                                    score.counts.hits + score.counts.misses);
            else
                first = score.counts;
            points.push_back(std::move(point));
        }
    }
    return points;
}

} // namespace lull
