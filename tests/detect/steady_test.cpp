// SPDX-License-Identifier: GPL-3.0-or-later
//
// Knocks beside something that ticks by itself.
#include "detect/internal/known_runs.hpp"
#include "listening.hpp"
#include "sounds.hpp"

#include <cmath>
#include <gtest/gtest.h>

namespace lull {
namespace {

using test::Listening;
using test::rate_hz;

constexpr double tick_s = 0.4;
const std::vector<double> tick_modes_hz{900.0, 1500.0};

/// A minute and a half of noise with a clock in it, and three groups of four knocks between ticks.
struct Scene {
    std::vector<float> samples = test::white(91, 90.0, 0.01);
    std::vector<double> ticks, knocks;

    Scene() {
        const double level = 0.01 * test::white_in_band();
        for (double at = 1.0; at < 88.0; at += tick_s)
            ticks.push_back(at);
        for (const double from_s : {20.4, 44.4, 70.4})
            for (int i = 0; i < 4; ++i)
                knocks.push_back(from_s + 0.8 * i + 0.03 * (i % 2));
        for (const double at : ticks)
            test::add(samples, test::knock(tick_modes_hz), at, level * db_to_amplitude(22.0));
        for (const double at : knocks)
            test::add(samples, test::knock({150.0, 260.0}), at, level * db_to_amplitude(10.0));
    }
};

double nearest_s(const std::vector<double>& times, double at) {
    double least = 1e9;
    for (const double t : times)
        least = std::min(least, std::abs(t - at));
    return least;
}

TEST(Steady, KnocksBetweenAClocksTicksAreFoundAndTheClockIsNot) {
    const Scene scene;
    const std::vector<Event> events = Listening({scene.samples}, rate_hz).events();
    std::size_t found = 0;
    for (const Event& event : events) {
        if (nearest_s(scene.knocks, event.onset_s) < 0.03) {
            // Ticks are more than can all be looked at; the knocks are.
            EXPECT_FALSE(event.arrivals[0].shape.from_tracks) << event.onset_s;
            found += event.kind == EventKind::tapping && event.confidence >= 0.5 ? 1 : 0;
        } else if (nearest_s(scene.ticks, event.onset_s) < 0.03) {
            EXPECT_FALSE(event.kind == EventKind::tapping && event.confidence >= 0.5)
                << event.onset_s << ": " << event.why;
        }
    }
    EXPECT_GE(found, 10U) << "seed 91";
}

TEST(Steady, AClocksTicksSpeakAgainstItselfAlone) {
    const Scene scene;
    const std::vector<Event> events = Listening({scene.samples}, rate_hz).events();
    std::vector<Chain> clock(1), person(1);
    std::vector<std::size_t> impulses;
    for (std::size_t e = 0; e < events.size(); ++e) {
        const bool knocked = nearest_s(scene.knocks, events[e].onset_s) < 0.03;
        const bool ticked = nearest_s(scene.ticks, events[e].onset_s) < 0.03;
        if (knocked == ticked) continue;
        impulses.push_back(e);
        (knocked ? person : clock)[0].members.push_back(e);
    }
    ASSERT_EQ(person[0].members.size(), scene.knocks.size());
    clock[0].groups.push_back({0, clock[0].members.size(), tick_s, 0.98});
    KnownRuns runs(events);
    runs.add(clock);
    const std::vector<std::size_t>& ticks = clock[0].members;
    const std::vector<std::size_t>& taps = person[0].members;
    EXPECT_EQ(runs.rivals(impulses, taps, taps.front()), taps);
    // Ticks of another chain that sound like the clock's meet them all.
    const std::vector<std::size_t> own{ticks[50], ticks[51]};
    EXPECT_GT(runs.rivals(impulses, own, own.front()).size(), ticks.size() / 2);
}

} // namespace
} // namespace lull
