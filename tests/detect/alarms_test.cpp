// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/alarms.hpp"

#include <algorithm>
#include <gtest/gtest.h>
#include <random>

namespace lull {
namespace {

Event sound(double onset_s, double length_s, EventKind kind = EventKind::horn) {
    Event event;
    event.kind = kind;
    event.confidence = 0.8;
    event.onset_s = onset_s;
    event.end_s = onset_s + length_s;
    Arrival arrival;
    arrival.onset_s = onset_s;
    arrival.end_s = event.end_s;
    arrival.shape.sustained = true;
    arrival.shape.band_db = {0.0F, 3.0F, 20.0F, 12.0F, 1.0F};
    event.arrivals.push_back(arrival);
    return event;
}

/// How many of them are still sure; none changes its kind.
std::size_t remaining(std::vector<Event>& events) {
    std::ranges::stable_sort(events, {}, &Event::onset_s);
    const std::vector<Event> before = events;
    tell_alarms(events, usual_horn_rules());
    for (std::size_t i = 0; i < events.size(); ++i)
        EXPECT_EQ(events[i].kind, before[i].kind);
    return static_cast<std::size_t>(
        std::ranges::count_if(events, [](const Event& event) { return event.confidence >= 0.5; }));
}

TEST(Alarms, WhatRepeatsUnchangedIsTold) {
    std::vector<Event> events;
    for (int i = 0; i < 12; ++i)
        events.push_back(sound(5.0 + 1.6 * i, 0.6));
    EXPECT_EQ(remaining(events), 0U);
    EXPECT_NE(events.front().why.find("one of 12 alike every 1.60 s"), std::string::npos)
        << events.front().why;
    EXPECT_GE(events.front().confidence, 0.1) << "hidden";
}

TEST(Alarms, TheBeatGoesOnOverWhatIsMissed) {
    std::vector<Event> events;
    for (int i = 0; i < 60; ++i)
        if (i < 20 || i % 4 == 1) events.push_back(sound(5.0 + 1.6 * i, 0.6));
    EXPECT_EQ(remaining(events), 0U);
}

TEST(Alarms, SignalsAreFewerOnEnd) {
    std::vector<Event> events; // three short, again and again: everyone out
    for (int i = 0; i < 6; ++i)
        for (int k = 0; k < 3; ++k)
            events.push_back(sound(5.0 + 8.0 * i + 2.0 * k, 1.0));
    EXPECT_EQ(remaining(events), events.size());
    std::vector<Event> nine;
    for (int i = 0; i < 9; ++i)
        nine.push_back(sound(5.0 + 2.0 * i, 1.0));
    EXPECT_EQ(remaining(nine), 9U);
}

TEST(Alarms, AHandKeepsNoSuchBeat) {
    constexpr unsigned seed = 20;
    std::mt19937 random(seed);
    std::normal_distribution<double> off(0.0, 0.08); // practised tapping scatters by 4 % and more
    std::vector<Event> events;
    double at = 5.0;
    for (int i = 0; i < 30; ++i, at += 1.5 * (1.0 + off(random)))
        events.push_back(sound(at, 0.8));
    EXPECT_EQ(remaining(events), events.size()) << "seed " << seed;
}

TEST(Alarms, WhatSoundsOtherwiseStays) {
    std::vector<Event> events;
    for (int i = 0; i < 12; ++i)
        events.push_back(sound(5.0 + 1.6 * i, 0.6));
    events.push_back(sound(5.0 + 1.6 * 12, 2.5, EventKind::voice_like)); // on the beat, longer
    events.push_back(sound(5.0 + 1.6 * 13, 0.6)); // on the beat, of other bands
    events.back().arrivals.front().shape.band_db = {15.0F, 15.0F, 0.0F, 0.0F, 9.0F};
    EXPECT_EQ(remaining(events), 2U);
}

} // namespace
} // namespace lull
