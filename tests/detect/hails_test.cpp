// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/hails.hpp"

#include <gtest/gtest.h>

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
}

} // namespace
} // namespace lull
