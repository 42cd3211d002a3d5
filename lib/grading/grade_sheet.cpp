// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade_sheet.hpp"

#include "grading/match.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double kinds_differ_cost = 0.5;
constexpr double channels_differ_cost = 0.25;
constexpr double excerpt_before_s = 2.0, excerpt_after_s = 3.0;

AnswerWindow window_of(const TruthEvent& event, const GradeRules& rules) {
    const double tolerance = of_kind(rules.onset_tolerance_s, event.kind);
    double to = event.time_s + tolerance;
    if (rules.anywhere_within_event) to = std::max(to, event.end_s);
    return {event.time_s, event.time_s - tolerance, to, tolerance};
}

bool same_channel(const Answer& answer, const TruthEvent& event) {
    const std::string first = plain_name(answer.channels[0]);
    return std::any_of(event.channels.begin(), event.channels.end(),
                       [&](const std::string& name) { return plain_name(name) == first; });
}

std::optional<bool> channel_right(const Answer& answer, const TruthEvent& event) {
    if (answer.channels.empty() || event.channels.empty()) return std::nullopt;
    return same_channel(answer, event);
}

/// As answers are shifted, so are their ends.
double end_of(const GradedAnswer& graded) {
    const Answer& written = graded.answer;
    return graded.time_s + (written.end_s.value_or(written.time_s) - written.time_s);
}

double cost_of(const GradedAnswer& answer, const TruthEvent& event, double tolerance_s) {
    const double late = std::abs(answer.time_s - event.time_s);
    double cost = tolerance_s > 0.0 ? std::min(1.0, late / tolerance_s) : 0.0;
    if (answer.answer.kind && *answer.answer.kind != event.kind) cost += kinds_differ_cost;
    if (!channel_right(answer.answer, event).value_or(true)) cost += channels_differ_cost;
    return cost;
}

void record_hit(GradedAnswer& graded, const TruthEvent& event, bool asked) {
    graded.outcome = asked ? Outcome::hit : Outcome::not_asked;
    graded.event = event.number;
    graded.late_s = graded.time_s - event.time_s;
    if (graded.answer.kind) graded.kind_right = *graded.answer.kind == event.kind;
    graded.channel_right = channel_right(graded.answer, event);
    if (graded.answer.x_m && graded.answer.y_m && event.x_m && event.y_m)
        graded.place_error_m =
            std::hypot(*graded.answer.x_m - *event.x_m, *graded.answer.y_m - *event.y_m);
}

/// The moment of an answer, or all that a find lasts, against a stretch.
bool overlaps(const GradedAnswer& answer, double from_s, double to_s) {
    return end_of(answer) >= from_s && answer.time_s <= to_s;
}

/// One round of matching between the free answers and the events that are asked for (or not).
void match_round(std::vector<GradedAnswer>& answers, const GradeScene& scene, bool asked) {
    std::vector<MatchCandidate> candidates;
    for (std::size_t e = 0; e < scene.truth.events.size(); ++e) {
        const TruthEvent& event = scene.truth.events[e];
        if (is_asked(event, scene.rules) != asked) continue;
        const AnswerWindow window = window_of(event, scene.rules);
        for (std::size_t a = 0; a < answers.size(); ++a) {
            if (answers[a].event || !overlaps(answers[a], window.from_s, window.to_s)) continue;
            candidates.push_back({static_cast<int>(a), static_cast<int>(e),
                                  cost_of(answers[a], event, window.tolerance_s)});
        }
    }
    for (const MatchCandidate& pair : best_matching(candidates))
        record_hit(answers[static_cast<std::size_t>(pair.answer)],
                   scene.truth.events[static_cast<std::size_t>(pair.truth)], asked);
}

/// Marks remaining lines that repeat an answered event.
void mark_repeats(std::vector<GradedAnswer>& answers, const GradeScene& scene) {
    if (scene.rules.repeats_are_false_calls) return;
    for (GradedAnswer& left : answers) {
        if (left.event) continue;
        for (const GradedAnswer& hit : answers) {
            if (hit.outcome != Outcome::hit && hit.outcome != Outcome::not_asked) continue;
            const TruthEvent& event = scene.truth.events[static_cast<std::size_t>(*hit.event) - 1];
            const AnswerWindow window = window_of(event, scene.rules);
            const double to = std::max(window.to_s, event.end_s + window.tolerance_s);
            const bool kind_fits = !left.answer.kind || *left.answer.kind == event.kind;
            if (!kind_fits || !overlaps(left, window.from_s, to)) continue;
            left.outcome = Outcome::repeat;
            left.event = event.number;
            break;
        }
    }
}

bool is_sheet_yes(const GradedAnswer& answer) {
    return answer.outcome == Outcome::hit || answer.outcome == Outcome::false_call;
}

/// The time of a yes: a hit counts in its event's slot, however late it was written.
double moment_of(const GradedAnswer& answer, const Truth& truth) {
    return answer.outcome == Outcome::hit
               ? truth.events[static_cast<std::size_t>(*answer.event) - 1].time_s
               : answer.time_s;
}

bool inside(const Slot& slot, double time_s) {
    return slot.from_s <= time_s && time_s < slot.to_s;
}

void count_slots(SheetTally& sum, std::span<const GradedAnswer> answers, const GradeScene& scene) {
    for (const Slot& slot : scene.slots) {
        bool with = false, open = false;
        for (const TruthEvent& event : scene.truth.events)
            if (inside(slot, event.time_s)) (is_asked(event, scene.rules) ? with : open) = true;
        if (open && !with) continue; // both answers are right there
        const bool yes = std::any_of(answers.begin(), answers.end(), [&](const GradedAnswer& a) {
            return is_sheet_yes(a) && inside(slot, moment_of(a, scene.truth));
        });
        (with ? sum.slots_with : sum.slots_without) += 1;
        (with ? sum.yes_with : sum.yes_without) += yes ? 1 : 0;
    }
    sum.detection = detectability(sum.yes_with, sum.slots_with, sum.yes_without, sum.slots_without);
}

void count_points(SheetTally& sum, std::span<const GradedAnswer> answers, const GradeScene& scene) {
    const GradeRules& rules = scene.rules;
    for (const TruthEvent& event : scene.truth.events) {
        if (!is_asked(event, rules)) continue;
        sum.points_possible += rules.points_heard + rules.points_kind;
        if (!event.channels.empty()) sum.points_possible += rules.points_channel;
        if (event.x_m && event.y_m) sum.points_possible += rules.points_place;
    }
    for (const GradedAnswer& a : answers) {
        if (a.outcome == Outcome::false_call) sum.points += rules.points_false_call;
        if (a.outcome != Outcome::hit) continue;
        sum.points += rules.points_heard;
        if (a.kind_right.value_or(false)) sum.points += rules.points_kind;
        if (a.channel_right.value_or(false)) sum.points += rules.points_channel;
        if (a.place_error_m && *a.place_error_m <= rules.place_limit_m)
            sum.points += rules.points_place;
    }
}

std::vector<Miss> misses_of(std::span<const GradedAnswer> answers, const GradeScene& scene) {
    std::vector<Miss> misses;
    for (const TruthEvent& event : scene.truth.events) {
        const bool heard = std::any_of(answers.begin(), answers.end(), [&](const GradedAnswer& a) {
            return a.outcome == Outcome::hit && *a.event == event.number;
        });
        if (heard || !is_asked(event, scene.rules)) continue;
        misses.push_back({event.number, excerpt_of(event)});
    }
    return misses;
}

HearingCurve curve_of(std::span<const GradedAnswer> answers, const GradeScene& scene) {
    std::vector<HeardAt> data;
    for (const TruthEvent& event : scene.truth.events) {
        if (!event.snr_db || !std::isfinite(*event.snr_db) || !is_asked(event, scene.rules))
            continue; // an infinite SNR cannot be on the curve
        const bool heard = std::any_of(answers.begin(), answers.end(), [&](const GradedAnswer& a) {
            return a.outcome == Outcome::hit && *a.event == event.number;
        });
        data.push_back({*event.snr_db, heard ? 1 : 0, 1});
    }
    return fit_hearing_curve(data, scene.rules.guess, scene.rules.lapse);
}

bool same_counts(const SheetTally& a, const SheetTally& b) {
    return a.counts.hits == b.counts.hits && a.counts.misses == b.counts.misses &&
           a.counts.false_calls == b.counts.false_calls;
}

} // namespace

bool is_asked(const TruthEvent& event, const GradeRules& rules) {
    return event.asked && of_kind(rules.asked, event.kind);
}

ExcerptReference excerpt_of(const TruthEvent& event) {
    return {fmt::format("event-{:02}", event.number),
            event.channels.empty() ? "" : event.channels[0],
            std::max(0.0, event.time_s - excerpt_before_s), event.end_s + excerpt_after_s};
}

std::vector<GradedAnswer> grade_answers(const Sheet& sheet, double shift_s,
                                        const GradeScene& scene) {
    std::vector<GradedAnswer> answers;
    for (const Answer& answer : sheet.answers) {
        GradedAnswer graded;
        graded.answer = answer;
        graded.time_s = answer.time_s - shift_s;
        answers.push_back(std::move(graded));
    }
    match_round(answers, scene, true);
    match_round(answers, scene, false);
    mark_repeats(answers, scene);
    return answers;
}

SheetTally tally(std::span<const GradedAnswer> answers, const GradeScene& scene) {
    SheetTally sum;
    std::vector<double> place_errors;
    for (const GradedAnswer& a : answers) {
        sum.counts.hits += a.outcome == Outcome::hit ? 1 : 0;
        sum.counts.false_calls += a.outcome == Outcome::false_call ? 1 : 0;
        sum.repeats += a.outcome == Outcome::repeat ? 1 : 0;
        sum.not_asked += a.outcome == Outcome::not_asked ? 1 : 0;
        if (a.outcome != Outcome::hit) continue;
        sum.kind_stated += a.kind_right ? 1 : 0;
        sum.kind_right += a.kind_right.value_or(false) ? 1 : 0;
        sum.channel_stated += a.channel_right ? 1 : 0;
        sum.channel_right += a.channel_right.value_or(false) ? 1 : 0;
        if (a.place_error_m) place_errors.push_back(*a.place_error_m);
    }
    for (const TruthEvent& event : scene.truth.events)
        sum.counts.misses += is_asked(event, scene.rules) ? 1 : 0;
    sum.counts.misses -= sum.counts.hits;
    sum.precision = precision_of(sum.counts);
    sum.recall = recall_of(sum.counts);
    sum.f = f_score_of(sum.counts);
    sum.kind = proportion(sum.kind_right, sum.kind_stated);
    sum.channel = proportion(sum.channel_right, sum.channel_stated);
    sum.places = static_cast<int>(place_errors.size());
    sum.place_error_m = median_of(std::move(place_errors));
    count_slots(sum, answers, scene);
    count_points(sum, answers, scene);
    return sum;
}

ListenerGrade grade_sheet(const Sheet& sheet, int number, const GradeScene& scene) {
    ListenerGrade result;
    result.name = sheet.name;
    result.file = sheet.file;
    result.faults = sheet.faults;
    std::vector<double> times;
    for (const Answer& answer : sheet.answers)
        times.push_back(answer.time_s);
    std::vector<AnswerWindow> windows;
    for (const TruthEvent& event : scene.truth.events)
        windows.push_back(window_of(event, scene.rules));
    // The program's own finds use the recording's clock, and no person wrote them down.
    if (number > 0) result.shift = estimate_shift(times, windows, scene.duration_s, scene.rules);
    result.answers = grade_answers(sheet, result.shift.total_s, scene);
    result.tally = tally(result.answers, scene);
    result.as_written = tally(grade_answers(sheet, 0.0, scene), scene);
    result.shift_matters = !same_counts(result.tally, result.as_written);
    result.misses = misses_of(result.answers, scene);
    result.curve = curve_of(result.answers, scene);
    for (GradedAnswer& a : result.answers) {
        if (a.outcome != Outcome::false_call) continue;
        a.really_there = what_was_there(a.time_s, scene);
        a.excerpt = ExcerptReference{
            fmt::format("{}line-{}", number > 0 ? fmt::format("sheet-{}-", number) : "program-",
                        a.answer.line),
            a.answer.channels.empty() ? "" : a.answer.channels[0],
            std::max(0.0, a.time_s - excerpt_before_s), end_of(a) + excerpt_after_s};
    }
    return result;
}

} // namespace lull
