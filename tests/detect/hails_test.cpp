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

} // namespace
} // namespace lull
