// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/hails.hpp"

#include <gtest/gtest.h>
#include <limits>

namespace lull {
namespace {

Event event(int number, double onset_s, double end_s, int channel, double power,
            double confidence = 0.6) {
    Event made;
    made.number = number;
    made.onset_s = onset_s;
    made.end_s = end_s;
    made.strongest = channel;
    made.confidence = confidence;
    Arrival arrival;
    arrival.channel = channel;
    arrival.onset_s = onset_s;
    arrival.end_s = end_s;
    arrival.peak_energy = power;
    made.arrivals.push_back(arrival);
    return made;
}

TEST(Hails, PlacedAtTheStrongCallNearTheRow) {
    const std::vector<Event> events{
        event(1, 58.0, 58.2, 1, 1e-6), event(2, 61.5, 63.0, 0, 1e-2), event(3, 67.0, 68.0, 1, 1e-5),
        event(4, 70.0, 70.1, 1, 1e-5, 0.05), event(5, 90.0, 90.1, 1, 1e-5)};
    const std::vector<LogRow> log{{60.0, "team two", "call-out", {0}, ""},
                                  {62.0, "team two", "note", {}, ""}};
    const std::vector<Hail> hails = find_hails(log, events);
    ASSERT_EQ(hails.size(), 1U);
    EXPECT_EQ(hails[0].from_s, 61.5);
    EXPECT_EQ(hails[0].to_s, 63.0);
    EXPECT_EQ(hails[0].channel, 0);
    EXPECT_EQ(hails[0].followed_by, std::vector<int>{3}); // 4 is too unsure, 5 too late
    ASSERT_TRUE(hails[0].after_s);
    EXPECT_NEAR(*hails[0].after_s, 4.0, 1e-9);
}

TEST(Hails, WithoutAnEventTheLogsOwnTime) {
    const std::vector<LogRow> log{{60.0, "", "call-out", {2}, ""}};
    const std::vector<Hail> hails = find_hails(log, {});
    ASSERT_EQ(hails.size(), 1U);
    EXPECT_EQ(hails[0].from_s, 60.0);
    EXPECT_EQ(hails[0].channel, 2);
    EXPECT_TRUE(hails[0].followed_by.empty());
    EXPECT_FALSE(hails[0].after_s);
}

TEST(Hails, TheNextHailEndsTheWindow) {
    const std::vector<Event> events{event(1, 25.0, 25.1, 1, 1e-5)};
    const std::vector<LogRow> log{{20.0, "", "call-out", {0}, ""}, {12.0, "", "call-out", {0}, ""}};
    const std::vector<Hail> hails = find_hails(log, events);
    ASSERT_EQ(hails.size(), 2U);
    EXPECT_EQ(hails[0].from_s, 12.0);
    EXPECT_TRUE(hails[0].followed_by.empty());
    EXPECT_EQ(hails[1].followed_by, std::vector<int>{1});
}

/// An event that is heard on channel 0 with one SNR and on channel 1 with another.
Event on_two(int number, double onset_s, EventKind kind, double own_db, double other_db) {
    Event made = event(number, onset_s, onset_s + 0.2, 0, 1e-3);
    made.kind = kind;
    made.arrivals[0].snr_db = own_db;
    made.arrivals.push_back(made.arrivals[0]);
    made.arrivals[1].channel = 1;
    made.arrivals[1].snr_db = other_db;
    return made;
}

TEST(Hails, StrongOnTheChannelAtTheTeam) {
    HailRules rules;
    rules.channel = 0;
    const std::vector<Event> events{
        on_two(1, 10.0, EventKind::tapping, 25.0, 12.0), // the team's own, and its
        on_two(2, 11.0, EventKind::tapping, 22.0, 12.0), // second knock
        on_two(3, 20.0, EventKind::tapping, 12.0, 9.0),  // weak: an answer
        on_two(4, 50.0, EventKind::tapping, 25.0, 22.0), // as strong elsewhere
        on_two(5, 60.0, EventKind::other, 30.0, 2.0),    // no call
        on_two(6, 70.0, EventKind::voice_like, 20.0, 5.0)};
    const std::vector<Hail> hails = find_hails({}, events, rules);
    ASSERT_EQ(hails.size(), 2U);
    EXPECT_EQ(hails[0].from_s, 10.0);
    EXPECT_EQ(hails[0].to_s, 11.2);
    EXPECT_FALSE(hails[0].from_log);
    EXPECT_EQ(hails[0].followed_by, std::vector<int>{3});
    EXPECT_EQ(hails[1].from_s, 70.0);
    EXPECT_TRUE(find_hails({}, events).empty());
}

TEST(Hails, WhatTheLogTellsToo) {
    HailRules rules;
    rules.channel = 0;
    const std::vector<Event> events{on_two(1, 10.0, EventKind::tapping, 25.0, 12.0)};
    const std::vector<LogRow> log{{12.0, "", "call-out", {}, ""}};
    const std::vector<Hail> hails = find_hails(log, events, rules);
    ASSERT_EQ(hails.size(), 1U);
    EXPECT_TRUE(hails[0].from_log);
    EXPECT_EQ(hails[0].events, std::vector{1});
}

/// A tap of a series, as strong as its power says.
Event tap(int number, double onset_s, double power, std::optional<int> series) {
    Event made = event(number, onset_s, onset_s + 0.1, 0, power);
    made.kind = EventKind::tapping;
    made.series = series;
    return made;
}

TEST(Hails, AreTheWholeGroupRoundTheStrongestKnockAndNothingElse) {
    std::vector<Event> events{
        tap(1, 50.0, 1e-3, 7), // of the same series, long before
        tap(2, 60.0, 1e-3, 7),  tap(3, 60.6, 1e-2, 7), tap(4, 60.9, 1e-4, 8), // another's
        tap(5, 61.2, 1e-3, 7),  tap(6, 64.0, 1e-4, 8),                        // an answer
        tap(7, 65.0, 1e-4, {}),
    };
    const std::vector<Hail> hails =
        find_hails(std::vector<LogRow>{{61.0, "", "call-out", {}, ""}}, events);
    ASSERT_EQ(hails.size(), 1U);
    EXPECT_EQ(hails[0].events, (std::vector{2, 3, 5}));
    EXPECT_EQ(hails[0].from_s, 60.0);
    EXPECT_NEAR(hails[0].to_s, 61.3, 1e-9);
    EXPECT_EQ(hails[0].followed_by, (std::vector{6, 7}));
    mark_hails(events, hails);
    for (const Event& one : events)
        EXPECT_EQ(one.hail.has_value(), one.number == 2 || one.number == 3 || one.number == 5)
            << one.number;
}

TEST(Hails, WhoKeepsKnockingIsNotTakenForTheTeam) {
    std::vector<Event> events;
    for (int i = 0; i < 40; ++i)
        events.push_back(tap(i + 1, 50.0 + 0.5 * i, 1e-2, 7));
    const std::vector<LogRow> log{{60.0, "", "call-out", {}, ""}};
    EXPECT_TRUE(find_hails(log, events).at(0).events.empty());
    // Nor where a weaker call lies among the knocks: then that is the hail.
    events.insert(events.begin() + 20, event(21, 59.8, 60.4, 1, 1e-4));
    for (std::size_t i = 21; i < events.size(); ++i)
        ++events[i].number;
    EXPECT_EQ(find_hails(log, events).at(0).events, std::vector{21});
}

TEST(Hails, AreNoHorns) {
    std::vector<Event> events{event(1, 58.0, 59.0, 0, 1e-1), event(2, 61.0, 62.0, 0, 1e-3)};
    events[0].kind = EventKind::horn;
    events[1].kind = EventKind::voice_like;
    const std::vector<LogRow> log{{60.0, "", "call-out", {}, ""}};
    EXPECT_EQ(find_hails(log, events).at(0).events, std::vector{2});
}

TEST(Hails, OverSilentFloorsEverywhereNothingIsTheTeamsOwn) {
    HailRules rules;
    rules.channel = 0;
    constexpr double infinite = std::numeric_limits<double>::infinity();
    EXPECT_TRUE(
        find_hails({}, {on_two(1, 10.0, EventKind::tapping, infinite, infinite)}, rules).empty());
    const auto hails = find_hails({}, {on_two(1, 10.0, EventKind::tapping, infinite, 30.0)}, rules);
    ASSERT_EQ(hails.size(), 1U);
    EXPECT_EQ(hails[0].events, std::vector{1});
}

} // namespace
} // namespace lull
