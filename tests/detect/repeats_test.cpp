// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/repeats.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

Event tap(int number, double onset_s, double confidence, std::optional<int> series = {}) {
    Event event;
    event.number = number;
    event.kind = EventKind::tapping;
    event.onset_s = onset_s;
    event.end_s = onset_s + 0.05;
    event.confidence = confidence;
    event.series = series;
    event.why = "an impulse";
    Arrival arrival;
    arrival.onset_s = onset_s;
    event.arrivals.push_back(arrival);
    return event;
}

Repeat repeat(double onset_s, double score, double correlation, bool measured) {
    Repeat one{{0, onset_s, score, correlation, {score}}, {}};
    if (measured) {
        Arrival arrival;
        arrival.onset_s = onset_s;
        arrival.end_s = onset_s + 0.05;
        arrival.snr_db = 3.0;
        one.arrivals.push_back(arrival);
    }
    return one;
}

struct Found {
    Found() {
        for (int k = 0; k < 3; ++k)
            events.push_back(tap(k + 1, 10.0 + 0.5 * k, 0.9, 1));
        events.push_back(tap(4, 20.0, 0.2));
        series.push_back({1, 3, 10.0, 11.05, 0.5, 0.9, 0.95, 0, {1, 2, 3}});
        templates.resize(1);
        templates[0].series = 1;
        templates[0].confidence = 0.95;
    }
    std::vector<Event> events;
    std::vector<Series> series;
    std::vector<TapTemplate> templates;
};

TEST(Repeats, WhatWasNotHeardBecomesTappingOfTheSeries) {
    Found found;
    add_repeats(found.events, found.series, found.templates,
                {repeat(5.0, 40.0, 0.95, true), repeat(5.6, 40.0, 0.95, true)}, 5.0);
    ASSERT_EQ(found.events.size(), 6U);
    const Event& first = found.events.front();
    EXPECT_EQ(first.number, 1);
    EXPECT_EQ(first.kind, EventKind::tapping);
    EXPECT_EQ(first.series, 1);
    EXPECT_GE(first.confidence, 0.5);
    EXPECT_LE(first.confidence, 0.95);
    tell_likeness(found.events);
    EXPECT_EQ(found.events.front().why,
              "found again on 1 channel; like series 1: correlation 0.95, 32 dB over the noise of "
              "the matching");
    EXPECT_EQ(found.series[0].taps, 5);
    EXPECT_EQ(found.series[0].events, (std::vector<int>{1, 2, 3, 4, 5}));
    EXPECT_EQ(found.series[0].from_s, 5.0);
}

TEST(Repeats, WhatWasHeardBecomesSurer) {
    Found found;
    add_repeats(found.events, found.series, found.templates,
                {repeat(20.01, 40.0, 0.95, false), repeat(20.6, 40.0, 0.95, true)}, 5.0);
    ASSERT_EQ(found.events.size(), 5U);
    EXPECT_GE(found.events[3].confidence, 0.5);
    EXPECT_EQ(found.events[3].series, 1);
    EXPECT_EQ(found.series[0].taps, 5);
    EXPECT_EQ(found.events[3].like->series, 1);
}

TEST(Repeats, ATapOfAnotherSeriesBecomesSurerAndStaysInIt) {
    Found found;
    found.events.push_back(tap(5, 40.0, 0.3, 2));
    found.series.push_back({2, 1, 40.0, 40.05, 0.5, 0.9, 0.1, 0, {5}});
    add_repeats(found.events, found.series, found.templates,
                {repeat(20.0, 40.0, 0.95, false), repeat(20.7, 40.0, 0.95, true),
                 repeat(40.0, 40.0, 0.95, false)},
                5.0);
    EXPECT_EQ(found.events[3].series, 1);
    EXPECT_EQ(found.events[5].series, 2);
    EXPECT_GT(found.events[5].confidence, 0.3);
}

TEST(Repeats, OneAloneStaysUnderAHalfAndJoinsNothing) {
    Found found;
    add_repeats(found.events, found.series, found.templates,
                {repeat(5.0, 90.0, 0.99, true), repeat(20.0, 90.0, 0.99, false)}, 5.0);
    for (const std::size_t alone : {0U, 4U}) {
        EXPECT_LT(found.events[alone].confidence, 0.5);
        EXPECT_FALSE(found.events[alone].series);
        EXPECT_EQ(found.events[alone].like->series, 1);
    }
    EXPECT_EQ(found.series[0].taps, 3);
}

TEST(Repeats, AnEchoIsNoCompany) {
    Found found;
    add_repeats(found.events, found.series, found.templates,
                {repeat(5.0, 90.0, 0.99, true), repeat(5.09, 90.0, 0.99, true)}, 5.0);
    ASSERT_EQ(found.events.size(), 6U);
    for (const std::size_t alone : {0U, 1U})
        EXPECT_LT(found.events[alone].confidence, 0.5);
}

TEST(Repeats, ItsOwnTapsAreNoRepeats) {
    Found found;
    add_repeats(found.events, found.series, found.templates, {repeat(10.5, 90.0, 1.0, false)}, 5.0);
    EXPECT_FALSE(found.events[1].like);
    EXPECT_EQ(found.series[0].taps, 3);
}

TEST(Repeats, TapsOfASeriesThatSoundsLikeItAreNoRepeatsAndCompany) {
    Found found;
    found.events.push_back(tap(5, 40.0, 0.9, 2));
    found.series.push_back({2, 1, 40.0, 40.05, 0.5, 0.9, 0.9, 0, {5}});
    found.templates[0].alike = {2};
    add_repeats(found.events, found.series, found.templates,
                {repeat(40.0, 90.0, 1.0, false), repeat(41.0, 90.0, 0.99, true)}, 5.0);
    ASSERT_EQ(found.events.size(), 6U);
    EXPECT_FALSE(found.events[4].like);
    EXPECT_EQ(found.events[5].series, 2) << "the one that goes on there";
    EXPECT_GE(found.events[5].confidence, 0.5);
}

TEST(Repeats, ASeriesDoesNotLastThroughWhatNobodyKnockedIn) {
    Found found; // its last tap is at 11.0 s, and groups of a series are at most 12 s apart
    add_repeats(found.events, found.series, found.templates,
                {repeat(22.5, 40.0, 0.95, true), repeat(23.1, 40.0, 0.95, true),
                 repeat(60.0, 40.0, 0.95, true), repeat(60.6, 40.0, 0.95, true)},
                5.0);
    ASSERT_EQ(found.events.size(), 8U);
    EXPECT_EQ(found.series[0].taps, 5);
    EXPECT_DOUBLE_EQ(found.series[0].to_s, 23.15);
    for (const std::size_t again : {6U, 7U}) {
        EXPECT_FALSE(found.events[again].series);
        EXPECT_EQ(found.events[again].like->series, 1);
        EXPECT_GE(found.events[again].confidence, 0.5) << "as sure as if it were one of them";
    }
}

TEST(Repeats, TheUnlikelyAreListedButJoinNothing) {
    Found found;
    add_repeats(found.events, found.series, found.templates, {repeat(50.0, 5.6, 0.31, true)}, 5.0);
    ASSERT_EQ(found.events.size(), 5U);
    EXPECT_LT(found.events[4].confidence, 0.5);
    EXPECT_FALSE(found.events[4].series);
    EXPECT_EQ(found.series[0].taps, 3);
}

TEST(Repeats, ProbabilityRisesWithScoreAndLikeness) {
    const auto p = [](double score, double correlation) {
        return repeat_probability({0, 0.0, score, correlation, {}}, 1.0);
    };
    EXPECT_LT(p(6.0, 0.6), p(12.0, 0.6));
    EXPECT_LT(p(10.0, 0.4), p(10.0, 0.9));
}

} // namespace
} // namespace lull
