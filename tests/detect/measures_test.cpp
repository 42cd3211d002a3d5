// SPDX-License-Identifier: GPL-3.0-or-later
#include "conventions.hpp"
#include "detect/internal/measures.hpp"

#include "sounds.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

constexpr double level_tolerance_db = 0.1; // of measures by construction (the figure)

std::vector<float> sine(double frequency_hz, double seconds, double amplitude) {
    std::vector<float> x(static_cast<std::size_t>(seconds * test::rate_hz));
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] = static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * frequency_hz *
                                                       static_cast<double>(i) / test::rate_hz));
    return x;
}

TEST(Measures, LargestMeanPowerAgainstTheSlowSum) {
    const std::vector<float> x = test::white(31, 0.5, 0.2);
    const std::size_t window = 800;
    double largest = 0.0;
    for (std::size_t i = 0; i + window <= x.size(); ++i) {
        double sum = 0.0;
        for (std::size_t k = i; k < i + window; ++k)
            sum += static_cast<double>(x[k]) * x[k];
        largest = std::max(largest, sum / static_cast<double>(window));
    }
    EXPECT_NEAR(largest_mean_power(x, 0, x.size(), window), largest, 1e-12);
}

TEST(Measures, BurstByConstruction) {
    // 100 ms of a 500 Hz sine of amplitude 0.5: peak 0.5, power 1/8, energy 1/80 s.
    std::vector<float> x(16000, 0.0F);
    test::add(x, sine(500.0, 0.1, 0.5), 0.3, 1.0);
    const ImpulseMeasures found = measure_impulse(x, 4800, x.size(), test::rate_hz, 1e-9);
    EXPECT_NEAR(*power_db(found.peak_energy), *power_db(0.125), level_tolerance_db);
    EXPECT_NEAR(*amplitude_db(found.peak), *amplitude_db(0.5), level_tolerance_db);
    EXPECT_NEAR(*power_db(found.energy), *power_db(0.0125), level_tolerance_db);
    EXPECT_NEAR(found.duration_s, 0.1, 0.009); // the envelope that decides is 8 ms long
    EXPECT_NEAR(found.early, 0.5, 0.05);
}

TEST(Measures, DecayByConstruction) {
    // exp(-t/tau) falls by 20 dB in tau * ln 10.
    std::vector<float> x(16000, 0.0F);
    const double tau = 0.02;
    for (std::size_t i = 4800; i < x.size(); ++i) {
        const double t = static_cast<double>(i - 4800) / test::rate_hz;
        x[i] = static_cast<float>(0.5 * std::exp(-t / tau) *
                                  std::cos(2.0 * std::numbers::pi * 800.0 * t));
    }
    const ImpulseMeasures found = measure_impulse(x, 4800, x.size(), test::rate_hz, 0.0);
    EXPECT_NEAR(found.decay_s, tau * std::log(10.0), 0.009); // 8 ms envelope
    EXPECT_FALSE(found.decay_to_floor);
    // Of the power exp(-2t/tau), up to 20 dB down: (1 - 0.1) / (1 - 0.01).
    EXPECT_NEAR(found.early, 0.9 / 0.99, 0.04);
    EXPECT_LT(found.rise_s, 0.001);
}

TEST(Measures, LouderHalfOfTheEvent) {
    // Half at -10 dB, half at -20 dB: the louder half is -10 dB whatever the order.
    LevelTrack level;
    level.hop = 64;
    for (int i = 0; i < 260; ++i) {
        level.power.push_back(i % 26 < 13 ? 0.1F : 0.01F);
        level.peak.push_back(0.4F);
    }
    const LevelMeasures found = measure_level(level, 0, 260 * 64, test::rate_hz);
    EXPECT_NEAR(*power_db(found.louder_half), -10.0, level_tolerance_db);
    EXPECT_NEAR(*power_db(found.peak_energy), -10.0, level_tolerance_db);
    EXPECT_NEAR(*power_db(found.energy), *power_db(0.055 * 260 * 64 / test::rate_hz),
                level_tolerance_db);
    EXPECT_NEAR(found.spread_db, 10.0, level_tolerance_db);
}

TEST(Measures, NothingGivesNothing) {
    const ImpulseMeasures none = measure_impulse({}, 0, 0, test::rate_hz, 0.0);
    EXPECT_EQ(none.peak_energy, 0.0);
    EXPECT_EQ(measure_level({}, 0, 100, test::rate_hz).energy, 0.0);
}

} // namespace
} // namespace lull
