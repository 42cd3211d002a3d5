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
    name_horn_signals(events, usual_horn_patterns());
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

TEST(Horns, AGapBeginsAnotherSignal) {
    EXPECT_NE(why_of({blast(5, 3), blast(40, 1)}).find("signal of 3.0 s: stop"), std::string::npos);
}

TEST(Horns, OtherRulesAreOtherData) {
    const std::vector<HornPattern> local{{"lunch", {{0.5, 1.5}}}};
    std::vector<Event> events{blast(5, 1)};
    name_horn_signals(events, local);
    EXPECT_NE(events[0].why.find("lunch"), std::string::npos);
}

} // namespace
} // namespace lull
