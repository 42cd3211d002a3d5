// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/shared.hpp"

#include "health/support.hpp"

#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr double rate_hz = 8000.0;
constexpr int channels = 4;

/// A knock at a random place: delayed and attenuated on each channel, which has noise of its own.
Block knock(std::uint64_t seed, int altered, float polarity, double gain, double smoothing) {
    std::mt19937_64 random(seed);
    std::normal_distribution<double> normal;
    std::uniform_real_distribution<double> uniform;
    Block block;
    block.channels = channels;
    block.frames = 2000;
    block.samples.assign(static_cast<std::size_t>(channels) * 2000, 0.0F);
    std::array<double, 4> modes_hz; // resonances of the struck object
    for (double& hz : modes_hz)
        hz = 150.0 + 1800.0 * uniform(random);
    modes_hz[0] = 150.0 + 100.0 * uniform(random);
    for (int c = 0; c < channels; ++c) {
        const double delay_s = 0.1 + 0.02 * uniform(random),
                     strength = 0.3 * (0.3 + uniform(random));
        double smooth = 0.0;
        for (Frame i = 0; i < block.frames; ++i) {
            const double t = static_cast<double>(i) / rate_hz - delay_s;
            double x = 0.0;
            for (double hz : modes_hz)
                if (t >= 0.0)
                    x += 0.5 * strength * std::exp(-t / 0.008) * std::sin(6.2832 * hz * t);
            if (c == altered && smoothing > 0.0)
                x = smooth = smoothing * smooth + (1.0 - smoothing) * x;
            x += 0.003 * (c == altered && smoothing > 0.0 ? 0.05 : 1.0) * normal(random);
            if (c == altered) x *= gain * static_cast<double>(polarity);
            block.channel(c)[static_cast<std::size_t>(i)] = static_cast<float>(x);
        }
    }
    return block;
}

std::vector<Finding> judged(int events, int altered, float polarity, double gain, double smoothing,
                            std::uint64_t seed = 1) {
    SharedEvents shared({0, 0, 0, 0}, rate_hz);
    for (int e = 0; e < events; ++e) {
        std::vector<double> floors(channels, 0.003 * 0.003);
        floors[static_cast<std::size_t>(altered)] *= gain * gain * (smoothing > 0.0 ? 0.0025 : 1.0);
        const std::vector<double> scales(channels, 0.0);
        shared.add(shared.measure(
            knock(seed * 1000 + static_cast<std::uint64_t>(e), altered, polarity, gain, smoothing),
            floors, scales));
    }
    return shared.findings(0.0, 100.0);
}

TEST(SharedEvents, ReversedPolarityIsFoundOnItsChannel) {
    const auto found = judged(12, 2, -1.0F, 1.0, 0.0);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].finding, "polarity reversed");
    EXPECT_EQ(found[0].channel, 2);
}

TEST(SharedEvents, UnequalGainIsLevelAndFloorTogether) {
    const auto found = judged(12, 1, 1.0F, 0.1, 0.0);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].finding, "unequal gain");
    EXPECT_EQ(found[0].channel, 1);
    EXPECT_NEAR(found[0].amount.value_or(0.0), -20.0, 4.0);
}

TEST(SharedEvents, PoorContactIsLittleHighFrequencyAndLittleAgreement) {
    const auto found = judged(12, 3, 1.0F, 1.0, 0.98);
    ASSERT_TRUE(test::has(found, "poor contact suspected"));
    for (const Finding& f : found)
        EXPECT_EQ(f.channel, 3) << f.finding;
}

TEST(SharedEvents, FewEventsGiveNoFinding) {
    EXPECT_TRUE(judged(4, 2, -1.0F, 1.0, 0.0).empty());
}

TEST(SharedEvents, HealthyChannelsRaiseNoAlarm) {
    constexpr int seeds = 200;
    for (std::uint64_t seed = 1; seed <= seeds; ++seed)
        for (const Finding& f : judged(10, 0, 1.0F, 1.0, 0.0, seed))
            ADD_FAILURE() << "seed " << seed << ": " << f.finding;
}

} // namespace
} // namespace lull
