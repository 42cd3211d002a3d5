// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/horns.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

Event blast(double onset_s, double length_s) {
    Event event;
    event.kind = EventKind::horn;
    event.confidence = 0.8;
    event.onset_s = onset_s;
    event.end_s = onset_s + length_s;
    return event;
}

std::string why_of(std::vector<Event> events) {
    for (std::size_t e = 0; e < events.size(); ++e)
        events[e].number = static_cast<int>(e) + 1;
    judge_horn_signals(events, usual_horn_rules());
    return events.front().why;
}

TEST(Horns, PatternsOfTheUsualRules) {
    EXPECT_NE(why_of({blast(5, 3)}).find("quiet"), std::string::npos);
    EXPECT_NE(why_of({blast(5, 1), blast(7, 1), blast(9, 1)}).find("out"), std::string::npos);
    EXPECT_NE(why_of({blast(5, 3), blast(9, 1)}).find("resume"), std::string::npos);
}

TEST(Horns, WhatFitsNoPatternIsOnlyCounted) {
    const std::string why = why_of({blast(5, 1), blast(7, 1)});
    EXPECT_NE(why.find("signal of 1.0 s, 1.0 s"), std::string::npos) << why;
    EXPECT_EQ(why.find(':'), std::string::npos) << why;
}

TEST(Horns, AToneAsShortAsABeepIsNoSignalUnlessItHasCompany) {
    const auto confidence_of = [](std::vector<Event> events) {
        for (std::size_t e = 0; e < events.size(); ++e)
            events[e].number = static_cast<int>(e) + 1;
        judge_horn_signals(events, usual_horn_rules());
        return events.front().confidence;
    };
    EXPECT_LT(confidence_of({blast(5, 0.4)}), 0.5);
    EXPECT_EQ(confidence_of({blast(5, 0.5)}), 0.8);
    EXPECT_EQ(confidence_of({blast(5, 0.4), blast(6, 0.4), blast(7, 0.4)}), 0.8);
}

TEST(Horns, AGapBeginsAnotherSignal) {
    EXPECT_NE(why_of({blast(5, 3), blast(40, 1)}).find("signal of 3.0 s: stop"), std::string::npos);
}

TEST(Horns, OtherRulesAreOtherData) {
    const HornRules local{{{"lunch", HornOrder::other, {{0.5, 1.5}}}}, 2.5, ""};
    std::vector<Event> events{blast(5, 1)};
    events[0].number = 1;
    judge_horn_signals(events, local);
    EXPECT_NE(events[0].why.find("lunch"), std::string::npos);
}

QuietPeriod quiet(double from_s, double to_s) {
    QuietPeriod period;
    period.from_s = from_s;
    period.to_s = to_s;
    return period;
}

std::vector<Event> numbered(std::vector<Event> events) {
    for (std::size_t e = 0; e < events.size(); ++e)
        events[e].number = static_cast<int>(e) + 1;
    return events;
}

std::vector<QuietPeriod> bounded(std::vector<QuietPeriod> periods, std::vector<Event> events) {
    const HornRules& rules = usual_horn_rules();
    bound_by_signals(periods, horn_signals(numbered(std::move(events)), rules, 0.5), rules);
    return periods;
}

TEST(Horns, SignalsBoundAQuietPeriod) {
    // Quiet ordered at 10-13 s, the site runs down by 20 s; work again at 80 s, loud by 85 s.
    const auto periods = bounded({quiet(20, 85)}, {blast(10, 3), blast(80, 3), blast(84, 1)});
    ASSERT_EQ(periods.size(), 1U);
    EXPECT_EQ(periods[0].ordered_by, 1);
    EXPECT_EQ(periods[0].ended_by, 2);
    EXPECT_EQ(periods[0].from_s, 20.0);
    EXPECT_EQ(periods[0].to_s, 80.0);
}

TEST(Horns, AnOrderToAQuietSiteBeginsItsPeriod) {
    const auto periods = bounded({quiet(0, 60)}, {blast(10, 3)});
    EXPECT_EQ(periods[0].from_s, 13.0);
    EXPECT_EQ(periods[0].ordered_by, 1);
    EXPECT_FALSE(periods[0].ended_by);
}

TEST(Horns, WhatIsFarAwayOrUnsureBoundsNothing) {
    Event unsure = blast(15, 3);
    unsure.confidence = 0.4;
    const auto periods =
        bounded({quiet(200, 300)}, {blast(10, 3), unsure, blast(380, 3), blast(384, 1)});
    EXPECT_FALSE(periods[0].ordered_by);
    EXPECT_FALSE(periods[0].ended_by);
    EXPECT_EQ(periods[0].from_s, 200.0);
    EXPECT_EQ(periods[0].to_s, 300.0);
}

TEST(Horns, AnotherBlastWithinTheQuietIsNoBound) {
    const auto periods = bounded({quiet(20, 90)}, {blast(50, 1)}); // one short: no pattern
    EXPECT_EQ(periods[0].to_s, 90.0);
}

TEST(Horns, TheUsualRulesAreTheDataFile) {
    const HornRules file = load_horn_rules(std::string(LULL_DATA) + "/horn-patterns.json");
    const HornRules& built_in = usual_horn_rules();
    ASSERT_EQ(file.patterns.size(), built_in.patterns.size());
    for (std::size_t p = 0; p < file.patterns.size(); ++p)
        EXPECT_EQ(file.patterns[p].meaning, built_in.patterns[p].meaning);
    EXPECT_TRUE(built_in.digest.empty());
    EXPECT_EQ(file.digest.size(), 64U);
}

} // namespace
} // namespace lull
