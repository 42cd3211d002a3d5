// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/candidates.hpp"
#include "detect/scores.hpp"

#include "listening.hpp"
#include "sounds.hpp"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;

std::vector<float> noise_with_a_knock() {
    std::vector<float> x = test::white(71, 40.0, 0.001);
    test::add(x, test::knock({300, 700}, 0.02), 20.03, 0.03);
    return x;
}

TEST(Scores, AKnockStandsOutInItsStep) {
    test::Listening listening({noise_with_a_knock()}, rate_hz);
    const ScoreTrack scores =
        running_scores(listening.tracks()[0], rate_hz, 0, static_cast<Frame>(40 * rate_hz));
    ASSERT_EQ(scores.impulse.size(), 400U);
    const auto loudest = std::max_element(scores.impulse.begin(), scores.impulse.end());
    EXPECT_EQ(loudest - scores.impulse.begin(), 200) << "seed 71";
    EXPECT_GT(*loudest, 100.0F);
    // The floor of white noise of rms 0.001 in the band, 60-2000 of 8000 Hz.
    EXPECT_NEAR(scores.floor[100] / (1e-6 * 1940.0 / 8000.0), 1.0, 0.1) << "seed 71";
}

TEST(Scores, PartsJoinToTheWhole) {
    test::Listening listening({noise_with_a_knock()}, rate_hz);
    const auto of = [&](double from_s, double to_s) {
        return running_scores(listening.tracks()[0], rate_hz, static_cast<Frame>(from_s * rate_hz),
                              static_cast<Frame>(to_s * rate_hz));
    };
    ScoreTrack parts = of(0.0, 17.23);
    append(parts, of(17.23, 40.0));
    const ScoreTrack whole = of(0.0, 40.0);
    EXPECT_EQ(parts.impulse, whole.impulse);
    EXPECT_EQ(parts.lasting, whole.lasting);
    EXPECT_EQ(parts.floor, whole.floor);
}

/// One band's score against the floor alone, by definition in double precision.
TEST(Scores, LogLikelihoodByDefinition) {
    constexpr double closeness = 2e-5; // r - 1 - log r in single precision
    ChannelTracks tracks;
    tracks.spectrum.hop = 128;
    tracks.spectrum.edges_hz = {500.0, 1000.0};
    tracks.band_floor.push_back({0, 1000000, {0.01F}, {1.0F}});
    const double degrees = degrees_of_freedom(tracks.spectrum, rate_hz)[0];
    for (double ratio = 0.1; ratio < 1e4; ratio *= 1.07) // rises: the moment before is lower
        tracks.spectrum.power.push_back(static_cast<float>(0.01 * ratio));
    const CandidateScores scores = candidate_scores(tracks, rate_hz);
    ASSERT_EQ(scores.impulse.size(), tracks.spectrum.power.size());
    ASSERT_EQ(scores.sustained.size(), tracks.spectrum.power.size());
    for (std::size_t i = 0; i < scores.impulse.size(); ++i) {
        double before = 0.0;
        std::size_t count = 0;
        for (std::size_t k = i < 14 ? 0 : i - 14; i >= 3 && k <= i - 3; ++k, ++count)
            before += tracks.spectrum.power[k];
        const double reference = std::max(0.01, count ? before / static_cast<double>(count) : 0.0);
        const double ratio = tracks.spectrum.power[i] / reference;
        const double expected = ratio > 1.0 ? 0.5 * degrees * (ratio - 1.0 - std::log(ratio)) : 0.0;
        EXPECT_NEAR(scores.impulse[i], expected, closeness * (1.0 + expected)) << i;
        EXPECT_NEAR(scores.impulse[i],
                    excess_likelihood(static_cast<float>(ratio), static_cast<float>(degrees)),
                    closeness * (1.0 + expected))
            << i;
    }
}

} // namespace
} // namespace lull
