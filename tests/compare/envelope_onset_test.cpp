// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/envelope_onset.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace lull {
namespace {

constexpr double rate_hz = 4000.0;
constexpr Frame noise_frames = 2400, event_frames = 1200;
constexpr double begin_s = 0.05;  ///< of the impact, after the noise
constexpr double near_s = 0.0004; ///< a tenth of an envelope's shortest mean

/// One channel: noise of amplitude 0.001, and a damped 150 Hz impact.
struct Impact {
    double at_s = begin_s, gain = 0.2, rise_s = 0.004;
    double later_s = 0.0, later_gain = 0.0; ///< a second, stronger wave
};

double sound(double t, double rise_s) {
    return t < 0.0 ? 0.0
                   : (1.0 - std::exp(-t / rise_s)) * std::exp(-t / 0.03) *
                         std::sin(2.0 * std::numbers::pi * 150.0 * t);
}

Block block_of(const std::vector<Impact>& impacts, std::uint64_t seed) {
    Block block;
    block.frames = noise_frames + event_frames;
    block.channels = static_cast<int>(impacts.size());
    block.samples.resize(impacts.size() * static_cast<std::size_t>(block.frames));
    for (std::size_t c = 0; c < impacts.size(); ++c) {
        std::mt19937_64 random(seed * 100 + c);
        std::normal_distribution<double> normal(0.0, 1.0);
        const Impact& impact = impacts[c];
        for (Frame n = 0; n < block.frames; ++n) {
            const double t = static_cast<double>(n - noise_frames) / rate_hz - impact.at_s;
            block.channel(static_cast<int>(c))[static_cast<std::size_t>(n)] =
                static_cast<float>(0.001 * normal(random) + impact.gain * sound(t, impact.rise_s) +
                                   impact.later_gain * sound(t - impact.later_s, impact.rise_s));
        }
    }
    return block;
}

std::vector<std::optional<EnvelopeOnset>> onsets_of(const std::vector<Impact>& impacts,
                                                    std::uint64_t seed = 1) {
    const Block block = block_of(impacts, seed);
    EnvelopeInput input{&block, {}, noise_frames, rate_hz, 0.25};
    for (int c = 0; c < block.channels; ++c)
        input.channels.push_back(c);
    return envelope_onsets(input);
}

TEST(EnvelopeOnset, DiffersByTheDelayWhateverTheLevels) {
    const auto onsets =
        onsets_of({{begin_s, 0.2}, {begin_s + 0.0053, 0.05}, {begin_s + 0.011, 0.4}});
    for (const auto& onset : onsets)
        ASSERT_TRUE(onset);
    EXPECT_NEAR(onsets[1]->time_s - onsets[0]->time_s, 0.0053, near_s);
    EXPECT_NEAR(onsets[2]->time_s - onsets[0]->time_s, 0.011, near_s);
}

TEST(EnvelopeOnset, AStrongerWaveBehindMovesItByNoMoreThanItsSigmaSays) {
    const std::vector<Impact> one{{}, {}, {}, {begin_s, 0.2, 0.004, 0.012, 0.5}};
    const auto onsets = onsets_of(one);
    for (const auto& onset : onsets)
        ASSERT_TRUE(onset);
    EXPECT_LT(std::abs(onsets[3]->time_s - onsets[0]->time_s),
              2.0 * std::hypot(onsets[3]->path_sigma_s, onsets[0]->path_sigma_s) + near_s);
    EXPECT_GT(onsets[3]->path_sigma_s, onsets[0]->path_sigma_s);
}

TEST(EnvelopeOnset, IsNotToldFromNoiseAlone) {
    const auto onsets = onsets_of({{}, {begin_s + 0.002}, {begin_s, 0.0}});
    EXPECT_TRUE(onsets[0]);
    EXPECT_TRUE(onsets[1]);
    EXPECT_FALSE(onsets[2]);
}

TEST(EnvelopeOnset, IsTheSameForEveryGainOfTheRecorder) {
    const Block block = block_of({{}, {begin_s + 0.004, 0.1}}, 3);
    Block louder = block;
    for (float& sample : louder.samples)
        sample *= 4.0F;
    EnvelopeInput input{&block, {0, 1}, noise_frames, rate_hz, 0.25};
    const auto first = envelope_onsets(input);
    input.block = &louder;
    const auto second = envelope_onsets(input);
    ASSERT_TRUE(first[1] && second[1]);
    EXPECT_NEAR(first[1]->time_s, second[1]->time_s, 1e-9);
}

} // namespace
} // namespace lull
