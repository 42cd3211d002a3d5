// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/scores.hpp"

#include "listening.hpp"
#include "sounds.hpp"

#include <algorithm>
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

} // namespace
} // namespace lull
