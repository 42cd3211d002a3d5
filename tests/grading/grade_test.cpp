// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade.hpp"

#include "error.hpp"
#include "grading/class_figures.hpp"
#include "grading/grade_group.hpp"
#include "grading/grade_log.hpp"
#include "grading/grade_names.hpp"
#include "synthesis/random.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace lull {
namespace {

constexpr double rounding = 1e-9;

TruthEvent event_at(int number, double time_s, EventKind kind = EventKind::tapping,
                    double length_s = 0.5) {
    TruthEvent e;
    e.number = number;
    e.time_s = time_s;
    e.end_s = time_s + length_s;
    e.kind = kind;
    e.channels = {"stairwell"};
    e.x_m = 3.0;
    e.y_m = 4.0;
    e.snr_db = 3.0 * number;
    return e;
}

Sheet sheet_of(const std::string& name, const std::vector<double>& times) {
    Sheet sheet;
    sheet.name = name;
    for (const double time : times) {
        Answer a;
        a.line = static_cast<int>(sheet.answers.size()) + 2;
        a.time_s = time;
        a.kind = EventKind::tapping;
        sheet.answers.push_back(a);
    }
    return sheet;
}

/// Ten taps at irregular times within five minutes.
const std::vector<double> moments{14, 37, 61, 88, 102, 131, 163, 190, 231, 274};

GradeRequest request_of(std::vector<Sheet> sheets) {
    GradeRequest request;
    for (std::size_t i = 0; i < moments.size(); ++i)
        request.truth.events.push_back(event_at(static_cast<int>(i) + 1, moments[i]));
    request.sheets = std::move(sheets);
    request.duration_s = 300.0;
    return request;
}

std::vector<double> moved(std::vector<double> times, double by_s) {
    for (double& time : times)
        time += by_s;
    return times;
}

TEST(Grade, the_truth_itself_scores_in_full) {
    GradeRequest request = request_of({sheet_of("all", moments)});
    for (Answer& a : request.sheets[0].answers)
        a.channels = {"stairwell"}, a.x_m = 3.0, a.y_m = 4.0;
    const SheetTally t = grade(request).listeners.at(0).tally;
    EXPECT_EQ(t.counts.hits, 10);
    EXPECT_EQ(t.counts.misses, 0);
    EXPECT_EQ(t.counts.false_calls, 0);
    EXPECT_EQ(*t.f.value, 1.0);
    EXPECT_EQ(t.channel_right, 10);
    EXPECT_EQ(*t.place_error_m.value, 0.0);
    EXPECT_NEAR(t.points, t.points_possible, rounding);
}

// By hand: hits at 14 and 61; 150 answers no event; 61.5 repeats 61.
TEST(Grade, hits_misses_false_calls_and_repeats) {
    GradeRequest request = request_of({sheet_of("some", {14.5, 61.0, 61.5, 150.0})});
    request.truth.surroundings.push_back({149.0, 149.2, "drip", "void-2", ""});
    const ListenerGrade got = grade(request).listeners.at(0);
    EXPECT_EQ(got.tally.counts.hits, 2);
    EXPECT_EQ(got.tally.counts.misses, 8);
    EXPECT_EQ(got.tally.counts.false_calls, 1);
    EXPECT_EQ(got.tally.repeats, 1);
    ASSERT_EQ(got.misses.size(), 8U);
    EXPECT_EQ(got.misses[0].event, 2);
    EXPECT_EQ(got.misses[0].excerpt.channel, "stairwell");
    EXPECT_EQ(got.misses[0].excerpt.from_s, 35.0);
    EXPECT_EQ(got.answers[3].outcome, Outcome::false_call);
    EXPECT_NE(got.answers[3].really_there.find("drip on void-2"), std::string::npos);
    request.rules.repeats_are_false_calls = true; // Mesaros et al. 2016 have no repeats
    EXPECT_EQ(grade(request).listeners.at(0).tally.counts.false_calls, 2);
}

TEST(Grade, tolerance_is_per_kind_and_a_long_event_counts_throughout) {
    GradeRequest request;
    request.truth.events = {event_at(1, 20.0), event_at(2, 60.0, EventKind::voice_like, 10.0)};
    request.sheets = {sheet_of("late", {22.5, 69.0})};
    SheetTally t = grade(request).listeners.at(0).tally;
    EXPECT_EQ(t.counts.hits, 1) << "2.5 s is beyond a tap's 2 s; 69 s lies within the voice";
    EXPECT_EQ(t.kind_right, 0);
    request.rules.anywhere_within_event = false;
    EXPECT_EQ(grade(request).listeners.at(0).tally.counts.hits, 0);
}

TEST(Grade, a_find_is_one_answer_to_what_it_overlaps) {
    GradeRequest request;
    request.truth.events = {event_at(1, 20.0), event_at(2, 60.0)};
    Sheet finds = sheet_of("program", {15.0, 70.0});
    request.program = finds;
    EXPECT_EQ(grade(request).program->tally.counts.hits, 0) << "5 s before and 10 s after";
    finds.answers[0].end_s = 66.0; // over both events: one answer nevertheless
    finds.answers[1].end_s = 71.0;
    request.program = finds;
    const ListenerGrade got = *grade(request).program;
    EXPECT_EQ(got.tally.counts.hits, 1);
    EXPECT_EQ(got.tally.counts.misses, 1);
    EXPECT_EQ(got.tally.counts.false_calls, 1);
    EXPECT_EQ(got.answers[1].excerpt->to_s, 74.0);
}

TEST(Grade, who_heard_what) {
    GradeRequest request = request_of({sheet_of("some", {14.5, 61.0, 150.0})});
    request.sheets[0].answers[1].kind = EventKind::horn;
    request.sheets[0].answers[2].time_s = 88.0;
    request.sheets[0].answers[2].kind.reset();
    const Grade all = grade(request);
    const std::vector<EventHearing> got = hearings_of(all.listeners[0], all.events);
    ASSERT_EQ(got.size(), 10U);
    EXPECT_EQ(got[0].hearing, Hearing::heard);
    EXPECT_EQ(got[1].hearing, Hearing::missed);
    EXPECT_FALSE(got[1].answer);
    EXPECT_EQ(got[2].hearing, Hearing::wrong_kind);
    EXPECT_EQ(got[2].answer->answer.line, 3);
    EXPECT_EQ(got[3].hearing, Hearing::heard) << "a kind that is not stated is not wrong";
    const auto kinds = kinds_of(all.listeners[0], all.events);
    EXPECT_EQ(of_kind(kinds, EventKind::tapping).heard, 3);
    EXPECT_EQ(of_kind(kinds, EventKind::tapping).asked, 10);
    EXPECT_EQ(of_kind(kinds, EventKind::horn).asked, 0);
}

TEST(Grade, what_nobody_asked_for_is_no_false_call_and_no_miss) {
    GradeRequest request = request_of({sheet_of("all", {14, 50})});
    request.truth.events.push_back(event_at(11, 50.0, EventKind::horn));
    request.truth.events.push_back(event_at(12, 70.0));
    request.truth.events.back().asked = false; // a hail
    const ListenerGrade got = grade(request).listeners.at(0);
    EXPECT_EQ(got.tally.counts.false_calls, 0);
    EXPECT_EQ(got.tally.not_asked, 1);
    EXPECT_EQ(got.tally.counts.misses, 9);
}

TEST(Grade, bias_is_told_from_a_wrong_clock) {
    const auto shift_of = [](std::vector<double> times) {
        return grade(request_of({sheet_of("x", std::move(times))})).listeners.at(0);
    };
    const ListenerGrade slow = shift_of(moved(moments, 1.4));
    EXPECT_EQ(slow.shift.offset_s, 0.0);
    EXPECT_NEAR(*slow.shift.bias_s, 1.4, rounding);
    EXPECT_FALSE(slow.shift_matters);

    const ListenerGrade minute = shift_of(moved(moments, 60.8));
    EXPECT_EQ(minute.shift.offset_s, 60.0);
    EXPECT_NEAR(*minute.shift.bias_s, 0.8, rounding);
    EXPECT_TRUE(minute.shift_matters);
    EXPECT_EQ(minute.tally.counts.hits, 10);
    EXPECT_LT(minute.as_written.counts.hits, 4);

    const ListenerGrade start = shift_of(moved(moments, -11.0));
    EXPECT_NEAR(start.shift.offset_s, -11.0, rounding);
    EXPECT_FALSE(start.shift.bias_s) << "cannot be told from the offset";
    EXPECT_EQ(start.tally.counts.hits, 10);
}

TEST(Grade, bias_is_robust_against_a_few_wild_lines) {
    std::vector<double> times = moved(moments, 0.9);
    times[2] += 1.0;
    times.insert(times.end(), {75.0, 118.0, 250.0});
    const ListenerGrade got = grade(request_of({sheet_of("x", times)})).listeners.at(0);
    EXPECT_NEAR(*got.shift.bias_s, 0.9, rounding);
    EXPECT_LE(*got.shift.bias_low_s, 0.9);
    EXPECT_GE(*got.shift.bias_high_s, 0.9);
}

// A search for shifts must not give hits that chance explains.
TEST(Grade, guessing_finds_no_clock) {
    int shifted = 0;
    constexpr int guessers = 300;
    for (std::uint64_t seed = 1; seed <= guessers; ++seed) {
        Random random(seed);
        std::vector<double> times;
        for (int i = 0; i < 10; ++i)
            times.push_back(random.between(0.0, 300.0));
        const SheetShift shift = grade(request_of({sheet_of("x", times)})).listeners.at(0).shift;
        shifted += std::abs(shift.total_s) > GradeRules{}.reaction_limit_s ? 1 : 0;
    }
    EXPECT_LE(shifted, 6) << "1 of 100 stated; 6 of 300 is three sigma of that";
}

TEST(Grade, few_answers_are_taken_as_written) {
    const ListenerGrade got = grade(request_of({sheet_of("x", {15.0, 38.0})})).listeners.at(0);
    EXPECT_EQ(got.shift.total_s, 0.0);
    EXPECT_FALSE(got.shift.bias_s);
    EXPECT_EQ(got.tally.counts.hits, 2);
}

TEST(Grade, a_wrong_clock_that_few_lines_suggest_is_named_and_not_used) {
    const ListenerGrade got =
        grade(request_of({sheet_of("x", {75.0, 98.0, 122.0, 50.0, 255.0})})).listeners.at(0);
    EXPECT_EQ(got.shift.total_s, 0.0);
    EXPECT_NE(got.shift.words.find("; moved by "), std::string::npos) << got.shift.words;
}

// 30 slots of 10 s, 10 of them with events. Two are found and one other slot is called: 2/10 and
// 1/20.
TEST(Grade, detectability_over_slots) {
    const SheetTally t =
        grade(request_of({sheet_of("x", {14.0, 37.0, 150.0})})).listeners.at(0).tally;
    EXPECT_EQ(t.slots_with, 10);
    EXPECT_EQ(t.slots_without, 20);
    EXPECT_EQ(t.yes_with, 2);
    EXPECT_EQ(t.yes_without, 1);
    EXPECT_NEAR(*t.detection.d_prime.value, normal_quantile(0.2) - normal_quantile(0.05), rounding);
    GradeRequest unknown = request_of({sheet_of("x", {14.0})});
    unknown.duration_s.reset();
    EXPECT_FALSE(grade(unknown).listeners.at(0).tally.detection.d_prime.value);
}

TEST(Grade, events_group_and_order) {
    const std::vector<double> few{14, 37, 150, 210, 250, 290};
    const Grade got = grade(
        request_of({sheet_of("good", moments), sheet_of("also", moments), sheet_of("weak", few)}));
    EXPECT_EQ(got.events.at(0).heard, 3);
    EXPECT_EQ(got.events.at(9).heard, 2);
    EXPECT_EQ(got.group.counts.hits, 22);
    ASSERT_TRUE(got.group.recall.low);
    EXPECT_LE(*got.group.recall.low, *got.group.recall.value);
    ASSERT_EQ(got.apart.size(), 2U) << "no order between the two alike";
    EXPECT_EQ(got.apart[0].lower, "weak");
}

TEST(Grade, the_program_is_graded_alike_above_its_confidence) {
    GradeRequest request = request_of({});
    request.program = sheet_of("events", {14.0, 37.0, 150.0});
    request.program->answers[2].confidence = 0.2;
    const Grade got = grade(request);
    ASSERT_TRUE(got.program);
    EXPECT_EQ(got.program->tally.counts.hits, 2);
    EXPECT_EQ(got.program->tally.counts.false_calls, 0);
    EXPECT_EQ(got.events.at(0).listeners, 0) << "not one of the listeners";
}

TEST(Grade, learning_curve_by_listener) {
    const std::vector<PastScore> scores{{"one", "L01", {4, 6, 2}, {}},
                                        {"one", "L02", {5, 5, 0}, {}},
                                        {"two", "L01", {8, 2, 1}, {}}};
    const std::vector<LearningPoint> points = learning_curve(scores);
    ASSERT_EQ(points.size(), 3U);
    EXPECT_EQ(points[1].turn, 2);
    EXPECT_NEAR(*points[1].recall_change.value, 0.4, rounding);
    EXPECT_FALSE(points[2].recall_change.value);
}

TEST(Grade, log_says_entry_or_none_and_who_listened) {
    const std::vector<LogRow> log{{5.0, "op-1", "listening to", {0}, ""},
                                  {8.0, "op-2", "listening to", {1, 2}, ""},
                                  {21.0, "op-1", "heard", {0}, "three knocks"},
                                  {90.0, "op-2", "moved", {1}, ""}};
    const std::vector<LogSubject> events{{1, 19.0, 20.0}, {2, 150.0, 151.0}};
    const auto got = compare_with_log(events, log, {"stairwell", "north-slab", "void-2"}, {});
    EXPECT_EQ(got.at(0).words, "in the log");
    EXPECT_EQ(got[0].person, "op-1");
    EXPECT_EQ(got[0].after_s, 2.0);
    EXPECT_EQ(got[0].listening, "op-1: stairwell, op-2: north-slab;void-2");
    EXPECT_EQ(got.at(1).words, "no log entry");
    EXPECT_EQ(got[1].listening, "op-1: stairwell");
}

TEST(Grade, reviewers_agree_over_slots) {
    std::vector<Judgement> judgements;
    const auto say = [&](const char* who, double onset, const char* verdict) {
        Judgement j;
        j.reviewer = who;
        j.onset_s = onset;
        j.old_kind = EventKind::tapping;
        j.verdict = verdict;
        judgements.push_back(j);
    };
    say("A", 5, "agree"), say("B", 6, "agree");
    say("A", 15, "agree"), say("B", 15, "disagree");
    say("A", 25, "unsure"), say("B", 25, "unsure");
    const auto got = compare_reviewers(judgements, "A", "B", even_slots(0, 50, 10));
    // Observed 4/5; by chance: nothing .4*.6, tapping .4*.2, unsure .2*.2 = .36.
    EXPECT_NEAR(*got.agreement.kappa.value, (0.8 - 0.36) / 0.64, rounding);
    EXPECT_THROW((void)compare_reviewers(judgements, "A", "C", even_slots(0, 50, 10)), Error);
}

TEST(Grade, pseudonyms_keep_and_hide) {
    const std::vector<std::string> names{"ada", "ben", "cleo"};
    const NameKey first = with_pseudonyms({}, names, "salt");
    EXPECT_EQ(first, with_pseudonyms({}, names, "salt"));
    const std::vector<std::string> more{"dora", "ada"};
    const NameKey second = with_pseudonyms(first, more, "other");
    EXPECT_EQ(second.at("ada"), first.at("ada"));
    EXPECT_EQ(second.at("dora"), "L04");
    EXPECT_EQ(parse_name_key("pseudonym,name\nL01,ada\n", "k").at("ada"), "L01");
    EXPECT_THROW((void)parse_name_key("pseudonym,name\nL01,ada\nL01,ben\n", "k"), Error);
}

TEST(Grade, shipped_weights_are_the_defaults) {
    const GradeRules read = load_grade_rules(LULL_DATA "/grading/weights.json"), own;
    EXPECT_EQ(read.onset_tolerance_s, own.onset_tolerance_s);
    EXPECT_EQ(read.asked, own.asked);
    EXPECT_EQ(read.points_place, own.points_place);
    EXPECT_EQ(read.points_false_call, own.points_false_call);
    EXPECT_EQ(read.slot_s, own.slot_s);
    EXPECT_EQ(read.lapse, own.lapse);
    EXPECT_EQ(read.log_after_s, own.log_after_s);
}

} // namespace
} // namespace lull
