// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/clocks.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace lull {
namespace {

Session session_of(std::vector<std::vector<ClockCheck>> checks) {
    Session session;
    for (auto& of_one : checks)
        session.recordings.push_back({"a.wav", std::nullopt, std::move(of_one)});
    return session;
}

TEST(Clocks, OffsetAndDriftOfAnExactLine) {
    std::vector<ClockCheck> checks;
    for (const double t : {0.0, 600.0, 1800.0, 3600.0})
        checks.push_back({t, t + 0.25 + 20e-6 * t});
    const auto rows = clocks_of(session_of({checks, {}}));
    ASSERT_EQ(rows.size(), 2U);
    EXPECT_EQ(rows[0].recording, 1);
    EXPECT_NEAR(*rows[0].offset_s, 0.25, 1e-9);
    EXPECT_NEAR(*rows[0].drift_ppm, 20.0, 1e-6);
    EXPECT_NEAR(*rows[0].sigma_s, 0.0, 1e-9);
    EXPECT_EQ(rows[0].from, "4 clock checks");
    EXPECT_EQ(rows[1].from, "not tied");
    EXPECT_FALSE(rows[1].offset_s || rows[1].drift_ppm || rows[1].sigma_s);
}

TEST(Clocks, OneCheckTellsAnOffsetAlone) {
    const auto rows = clocks_of(session_of({{{100.0, 100.5}}}));
    EXPECT_NEAR(*rows[0].offset_s, 0.5, 1e-12);
    EXPECT_FALSE(rows[0].drift_ppm || rows[0].sigma_s);
    EXPECT_EQ(rows[0].from, "1 clock check");
}

TEST(Clocks, TwoChecksTellNoSpread) {
    const auto rows = clocks_of(session_of({{{0.0, 1.0}, {1000.0, 1001.01}}}));
    EXPECT_NEAR(*rows[0].drift_ppm, 10.0, 1e-6);
    EXPECT_FALSE(rows[0].sigma_s);
}

TEST(Clocks, SpreadOfTheChecksIsFound) {
    constexpr std::uint32_t seed = 12;
    constexpr double spread_s = 0.004;
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0.0, spread_s);
    std::vector<ClockCheck> checks;
    for (int n = 0; n < 400; ++n)
        checks.push_back({10.0 * n, 10.0 * n - 3.0 - 50e-6 * 10.0 * n + normal(random)});
    const auto rows = clocks_of(session_of({checks}));
    // Spread of a standard deviation from 400: 3.5 %; of the offset 2*spread/sqrt(400); three of
    // each.
    EXPECT_NEAR(*rows[0].sigma_s, spread_s, 0.11 * spread_s) << "seed " << seed;
    EXPECT_NEAR(*rows[0].offset_s, -3.0, 0.0012) << "seed " << seed;
    EXPECT_NEAR(*rows[0].drift_ppm, -50.0, 0.6) << "seed " << seed;
}

TEST(Clocks, WhatTheSessionSaysOfAChannel) {
    Session session = session_of({{}, {}});
    Channel channel;
    channel.recording = 2;
    channel.clock_offset_s = 1.5;
    session.channels = {channel};
    const auto rows = clocks_of(session);
    EXPECT_EQ(rows[0].from, "not tied");
    EXPECT_EQ(rows[1].from, "session");
    EXPECT_NEAR(*rows[1].offset_s, 1.5, 1e-12);
}

TEST(Clocks, OneRecordingNeedsNoTie) {
    EXPECT_EQ(clocks_of(session_of({{}}))[0].from, "one recording, one clock");
    EXPECT_TRUE(clocks_of({}).empty());
}

} // namespace
} // namespace lull
