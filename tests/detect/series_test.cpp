// SPDX-License-Identifier: GPL-3.0-or-later
#include "conventions.hpp"
#include "detect/series.hpp"

#include "detect/internal/imprint.hpp"
#include "detect/internal/rhythm.hpp"
#include "detect/internal/runs.hpp"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <numbers>
#include <random>
#include <string>
#include <utility>

namespace lull {
namespace {

/// Imprint of a blow that rings at a pitch, in a little noise of its own. The seed is its time.
Imprint ring(double pitch_hz, double onset_s) {
    constexpr double rate_hz = 4000.0;
    std::mt19937 generator(static_cast<unsigned>(std::lround(1e3 * onset_s)));
    std::normal_distribution<double> noise(0.0, 0.03);
    std::vector<float> wave(200);
    for (std::size_t i = 0; i < wave.size(); ++i) {
        const double t = (static_cast<double>(i) - 12.0) / rate_hz;
        const double blow =
            t < 0.0 ? 0.0 : std::exp(-t / 0.015) * std::sin(2.0 * std::numbers::pi * pitch_hz * t);
        wave[i] = static_cast<float>(blow + noise(generator));
    }
    return take_imprint(wave, onset_s - 12.0 / rate_hz, 12, rate_hz, 0.0009);
}

Event tap(double onset_s, std::vector<float> bands = {22, 18, 9, 2, 0, 0}, double snr_db = 15.0) {
    Event event;
    event.kind = EventKind::tapping;
    event.onset_s = onset_s;
    event.end_s = onset_s + 0.04;
    event.confidence = 0.4;
    Arrival arrival;
    arrival.onset_s = onset_s;
    arrival.end_s = event.end_s;
    arrival.kind = EventKind::tapping;
    arrival.snr_db = snr_db;
    arrival.peak_energy = 1e-6 * db_to_power(snr_db);
    arrival.confidence = 0.4;
    const auto loudest = std::max_element(bands.begin(), bands.end()) - bands.begin();
    arrival.shape.centroid_hz = 200.0 * std::exp2(static_cast<double>(loudest) / 2.0);
    arrival.shape.decay_s = 0.04;
    arrival.shape.score = 80.0;
    arrival.shape.imprint = ring(arrival.shape.centroid_hz, onset_s);
    arrival.shape.band_db = std::move(bands);
    event.arrivals.push_back(arrival);
    return event;
}

std::vector<Event> taps(const std::vector<double>& times) {
    std::vector<Event> events;
    for (const double t : times) {
        events.push_back(tap(t));
        events.back().number = static_cast<int>(events.size());
    }
    return events;
}

TEST(Series, ThreeAndThreeIsOneSeriesAndSure) {
    std::vector<Event> events = taps({10.0, 10.6, 11.2, 15.0, 15.62, 16.2, 20.0, 20.6, 21.2});
    const std::vector<Series> found = find_series(events);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].taps, 9);
    EXPECT_NEAR(found[0].interval_s, 0.6, 0.02);
    EXPECT_GT(found[0].regularity, 0.9);
    EXPECT_GT(found[0].confidence, 0.5);
    for (const Event& event : events) {
        EXPECT_GT(event.confidence, 0.5);
        EXPECT_EQ(event.series, 1);
        EXPECT_EQ(event.kind, EventKind::tapping);
        EXPECT_NE(event.why.find("one of 3"), std::string::npos) << event.why;
    }
}

TEST(Series, WhoKnocksAgainAndAgainIsNoMachine) {
    // Groups of three to eight from one place, after pauses as even as a person's are.
    std::vector<double> times;
    for (const auto& [from_s, count] : std::vector<std::pair<double, int>>{
             {10.0, 4}, {18.5, 3}, {26.0, 8}, {36.0, 4}, {44.0, 4}, {53.5, 3}, {61.0, 4}})
        for (int i = 0; i < count; ++i)
            times.push_back(from_s + 0.5 * i + (i % 2 == 0 ? 0.0 : 0.03));
    std::vector<Event> events = taps(times);
    const std::vector<Series> found = find_series(events);
    ASSERT_FALSE(found.empty());
    EXPECT_GT(found[0].confidence, 0.7);
    for (const Event& event : events) {
        EXPECT_EQ(event.kind, EventKind::tapping) << event.onset_s << ": " << event.why;
        EXPECT_GT(event.confidence, 0.5) << event.onset_s << ": " << event.why;
    }
}

TEST(Series, AnIsolatedTapStaysLow) {
    std::vector<Event> events = taps({10.0});
    EXPECT_TRUE(find_series(events).empty());
    EXPECT_LT(events[0].confidence, 0.5);
    EXPECT_FALSE(events[0].series);
}

TEST(Series, AMissedTapDoesNotBreakAGroup) {
    std::vector<Event> events = taps({10.0, 10.5, 11.5, 12.0});
    const std::vector<Series> found = find_series(events);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].taps, 4);
    EXPECT_NEAR(found[0].interval_s, 0.5, 0.01);
    EXPECT_GT(found[0].regularity, 0.9);
    EXPECT_GT(events[3].confidence, 0.5);
}

TEST(Series, AnExtraSoundOfAnotherKindIsLeftOut) {
    std::vector<Event> events = taps({10.0, 10.6, 11.2, 11.8});
    Event other = tap(10.9, {0, 0, 0, 12, 25, 25});
    events.insert(events.begin() + 2, other);
    for (std::size_t i = 0; i < events.size(); ++i)
        events[i].number = static_cast<int>(i) + 1;
    const std::vector<Series> found = find_series(events);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].taps, 4);
    EXPECT_FALSE(events[2].series);
}

TEST(Series, TwoSourcesGiveTwo) {
    std::vector<Event> events;
    const std::vector<float> low{25, 20, 3, 0, 0, 0};
    const std::vector<float> high{0, 0, 2, 8, 20, 25};
    for (int i = 0; i < 5; ++i) {
        events.push_back(tap(10.0 + 0.6 * i, low));
        events.push_back(tap(10.25 + 0.6 * i, high));
    }
    for (std::size_t i = 0; i < events.size(); ++i)
        events[i].number = static_cast<int>(i) + 1;
    const std::vector<Series> found = find_series(events);
    ASSERT_EQ(found.size(), 2U);
    EXPECT_EQ(found[0].taps, 5);
    EXPECT_EQ(found[1].taps, 5);
}

/// So many taps, off a beat by a share of the interval at random, as hands are.
std::vector<double> beat(std::size_t count, double interval_s, double scatter, unsigned seed) {
    std::mt19937 generator(seed);
    std::normal_distribution<double> normal(0.0, scatter);
    std::vector<double> times{15.0};
    while (times.size() < count)
        times.push_back(times.back() + interval_s * (1.0 + normal(generator)));
    return times;
}

TEST(Series, WhoKnocksOnAndOnStaysHeard) {
    constexpr unsigned seed = 53;
    for (const auto& [count, interval_s] : std::vector<std::pair<std::size_t, double>>{{24, 0.6},
                                                                                       {24, 0.9},
                                                                                       {40, 0.5},
                                                                                       {200, 0.7},
                                                                                       {8, 2.5},
                                                                                       {10, 4.0},
                                                                                       {12, 5.0},
                                                                                       {8, 6.0}}) {
        std::vector<Event> events = taps(beat(count, interval_s, 0.05, seed));
        (void)find_series(events);
        for (const Event& event : events) {
            EXPECT_EQ(event.kind, EventKind::tapping) << event.why << ", seed " << seed;
            EXPECT_GE(event.confidence, 0.5) << event.why << ", seed " << seed;
        }
    }
}

TEST(Series, WhatARhythmResemblesIsSaidAndKindStays) {
    const auto says = [](std::vector<Event> events, const std::string& words) {
        (void)find_series(events);
        std::size_t saying = 0;
        for (const Event& event : events) {
            EXPECT_EQ(event.kind, EventKind::tapping) << event.onset_s << ": " << event.why;
            saying += event.why.find(words) != std::string::npos ? 1 : 0;
        }
        // A tap far off the beat is of another run.
        EXPECT_GE(saying, events.size() * 3 / 4) << words << "; " << events.back().why;
    };
    says(taps(beat(90, 1.0, 0.0, 1)), "resembles a clock: 90 taps at 1.00 s, spread 0 %");
    says(taps(beat(60, 0.8, 0.04, 51)), "resembles a drip: 60 taps at 0.8");
    says(taps(beat(15, 2.3, 0.05, 52)), "resembles a drip: 1");
    says(taps(beat(15, 2.3, 0.1, 52)), "resembles a drip: 1");
    says(taps(beat(3, 0.6, 0.05, 54)), "a drip, a door, steps or handling can sound the same");
    std::vector<Event> steps;
    for (int i = 0; i < 20; ++i) {
        steps.push_back(tap(5.0 + 0.55 * i + 0.06 * (i % 3), {25, 12, 2, 0, 0, 0}));
        steps.back().arrivals[0].shape.centroid_hz = 160.0;
        steps.back().number = i + 1;
    }
    says(std::move(steps), "resembles footsteps: ");
}

TEST(Runs, AGroupAmongAClocksTicksIsItsOwn) {
    // Five knocks, quicker than the ticks that they fall among, of another pitch.
    std::vector<Event> events;
    std::vector<double> knocks{20.13, 20.45, 20.78, 21.12, 21.43};
    for (int i = 0; i < 40; ++i)
        events.push_back(tap(5.0 + i, {0, 0, 2, 8, 20, 25}));
    for (const double t : knocks)
        events.push_back(tap(t, {25, 20, 3, 0, 0, 0}));
    std::sort(events.begin(), events.end(),
              [](const Event& a, const Event& b) { return a.onset_s < b.onset_s; });
    std::vector<std::size_t> all(events.size());
    for (std::size_t i = 0; i < all.size(); ++i)
        all[i] = i;
    std::vector<double> found;
    for (const std::vector<std::size_t>& run : find_runs(events, all))
        if (run.size() == knocks.size())
            for (const std::size_t e : run)
                found.push_back(events[e].onset_s);
    EXPECT_EQ(found, knocks);
}

TEST(Rhythm, OfKnownIntervals) {
    const TapGroup even = rhythm_of({0.0, 0.5, 1.0, 1.5});
    EXPECT_DOUBLE_EQ(even.interval_s, 0.5);
    EXPECT_DOUBLE_EQ(even.regularity, 1.0);
    // Deviations 0, 0.05, 0.05 of 0.5: mean 1/30 over 0.5.
    const TapGroup uneven = rhythm_of({0.0, 0.5, 0.95, 1.5});
    EXPECT_NEAR(uneven.regularity, 1.0 - (0.1 / 3.0) / 0.5, 1e-9);
}

} // namespace
} // namespace lull
