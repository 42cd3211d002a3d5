// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/hum_removal.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace lull {
namespace {

constexpr double rate_hz = 4000.0;
constexpr double least_removed_db = 20.0; ///< our own requirement

/// Hum whose frequency swings by 0.1 Hz about 49.93 Hz within 40 s, with five harmonics.
std::vector<float> drifting_hum(double seconds, double amplitude) {
    std::vector<float> hum;
    for (std::size_t i = 0; i < static_cast<std::size_t>(seconds * rate_hz); ++i) {
        const double t = static_cast<double>(i) / rate_hz, swing = 2.0 * std::numbers::pi / 40.0;
        const double turns = 49.93 * t + 0.1 / swing * (1.0 - std::cos(swing * t));
        double sum = 0.0;
        for (const auto& [h, a] : {std::pair{1, 1.0}, {2, 0.2}, {3, 0.5}, {5, 0.3}, {9, 0.1}})
            sum += a * std::sin(2.0 * std::numbers::pi * h * turns + h);
        hum.push_back(static_cast<float>(amplitude * sum));
    }
    return hum;
}

double power_between(const std::vector<float>& x, double from_s, double to_s) {
    double sum = 0.0;
    for (auto i = static_cast<std::size_t>(from_s * rate_hz);
         i < static_cast<std::size_t>(to_s * rate_hz); ++i)
        sum += static_cast<double>(x[i]) * static_cast<double>(x[i]);
    return sum / ((to_s - from_s) * rate_hz);
}

std::vector<float> left_over(const std::vector<float>& x, const std::vector<float>& hum,
                             std::optional<double> mains_hz = std::nullopt) {
    std::vector<float> rest = hum_in(x, 0, 0, static_cast<Frame>(x.size()), rate_hz, mains_hz);
    for (std::size_t i = 0; i < rest.size(); ++i)
        rest[i] = hum[i] - rest[i];
    return rest;
}

TEST(HumRemoval, DriftingHumInNoise) {
    std::vector<float> hum = drifting_hum(60.0, 0.05), x = hum;
    std::mt19937_64 random(1);
    std::normal_distribution<float> noise(0.0F, 0.01F);
    for (float& v : x)
        v += noise(random);
    const auto rest = left_over(x, hum);
    // Without the half second at each end, which is less accurate.
    const double removed_db =
        10.0 * std::log10(power_between(hum, 0.5, 59.5) / power_between(rest, 0.5, 59.5));
    EXPECT_GT(removed_db, least_removed_db);
    RecordProperty("removed_db", std::to_string(removed_db));
}

TEST(HumRemoval, KnockNeitherRingsNorChanges) {
    const std::vector<float> hum = drifting_hum(20.0, 0.05);
    std::vector<float> x = hum, knock(hum.size(), 0.0F);
    const auto at = static_cast<std::size_t>(10.03 * rate_hz);
    for (std::size_t i = 0; i < 400; ++i)
        knock[at + i] = static_cast<float>(
            0.9 * std::exp(-static_cast<double>(i) / 60.0) *
            std::sin(2.0 * std::numbers::pi * 150.0 * static_cast<double>(i) / rate_hz));
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] += knock[i];
    const auto with = left_over(x, hum), without = left_over(hum, hum);
    float most = 0.0F;
    for (std::size_t i = 0; i < with.size(); ++i)
        most = std::max(most, std::fabs(with[i] - without[i]));
    EXPECT_LT(most, 0.9 * 0.01) << "40 dB under the knock, everywhere: it leaves no ringing";
}

TEST(HumRemoval, NoiseAndOtherTonesAreUnchanged) {
    std::mt19937_64 random(2);
    std::normal_distribution<float> noise(0.0F, 0.01F);
    std::vector<float> x(static_cast<std::size_t>(30.0 * rate_hz));
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] =
            noise(random) + 0.05F * static_cast<float>(std::sin(2.0 * std::numbers::pi * 173.0 *
                                                                static_cast<double>(i) / rate_hz));
    const auto hum = hum_in(x, 0, 0, static_cast<Frame>(x.size()), rate_hz, std::nullopt);
    EXPECT_LT(10.0 *
                  std::log10(power_between(hum, 0.0, 30.0) / power_between(x, 0.0, 30.0) + 1e-12),
              -25.0);
}

TEST(HumRemoval, SixtyHertzIsFound) {
    std::vector<float> x(static_cast<std::size_t>(10.0 * rate_hz));
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] = 0.1F * static_cast<float>(std::sin(2.0 * std::numbers::pi * 60.04 *
                                                  static_cast<double>(i) / rate_hz));
    EXPECT_GT(10.0 *
                  std::log10(power_between(x, 0.5, 9.5) / power_between(left_over(x, x), 0.5, 9.5)),
              40.0);
}

/// Hum of a generator: fundamental and four harmonics at a frequency that is a function of time.
template <class Frequency>
std::vector<float> generator_hum(double seconds, double amplitude, Frequency&& frequency_hz) {
    std::vector<float> hum;
    double turns = 0.0;
    for (std::size_t i = 0; i < static_cast<std::size_t>(seconds * rate_hz); ++i) {
        turns += frequency_hz(static_cast<double>(i) / rate_hz) / rate_hz;
        double sum = 0.0;
        for (const auto& [h, a] : {std::pair{1, 1.0}, {2, 0.2}, {3, 0.5}, {5, 0.3}, {9, 0.1}})
            sum += a * std::sin(2.0 * std::numbers::pi * h * turns + h);
        hum.push_back(static_cast<float>(amplitude * sum));
    }
    return hum;
}

TEST(HumRemoval, FollowsAGeneratorsFrequency) {
    // load comes on at 10 s: it slows down and its governor brings it back
    const auto loaded = [](double t) {
        return t < 10.0
                   ? 51.0
                   : 51.0 - 2.0 * (1.0 - std::exp(-(t - 10.0) / 0.3)) * std::exp(-(t - 10.0) / 1.5);
    };
    const auto rising = [](double t) { return 47.5 + 0.25 * t; };
    const auto at_sixty = [](double t) { return 62.0 - 0.2 * t; };
    std::mt19937_64 random(4);
    std::normal_distribution<float> noise(0.0F, 0.01F);
    const auto removed_db = [&](const std::vector<float>& hum) {
        std::vector<float> x = hum;
        for (float& v : x)
            v += noise(random);
        const auto rest = left_over(x, hum);
        return 10.0 * std::log10(power_between(hum, 0.5, 19.5) / power_between(rest, 0.5, 19.5));
    };
    EXPECT_GT(removed_db(generator_hum(20.0, 0.05, rising)), least_removed_db);
    EXPECT_GT(removed_db(generator_hum(20.0, 0.05, at_sixty)), least_removed_db);
    // At first seven hertz a second, so that the harmonics lag for a moment.
    EXPECT_GT(removed_db(generator_hum(20.0, 0.05, loaded)), 0.75 * least_removed_db);
}

TEST(HumRemoval, StretchesJoin) {
    std::vector<float> x = drifting_hum(12.0, 0.05);
    std::mt19937_64 random(3);
    std::normal_distribution<float> noise(0.0F, 0.01F);
    for (float& v : x)
        v += noise(random);
    const auto whole = hum_in(x, 0, 0, static_cast<Frame>(x.size()), rate_hz, 50.0);
    const Frame hop = hum_hop(rate_hz), from = 5 * hop, count = 2 * hop;
    const auto part = hum_in(std::span(x).subspan(static_cast<std::size_t>(from - hop),
                                                  static_cast<std::size_t>(count + 2 * hop)),
                             from - hop, from, count, rate_hz, 50.0);
    for (Frame i = 0; i < count; ++i)
        ASSERT_EQ(part[static_cast<std::size_t>(i)], whole[static_cast<std::size_t>(from + i)])
            << i;
}

} // namespace
} // namespace lull
