// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/pitch_path.hpp"

#include <cmath>
#include <gtest/gtest.h>

namespace lull {
namespace {

constexpr double rounding = 1e-9;

double raised(double pitch_hz, double semitones) {
    return pitch_hz * std::exp2(semitones / 12.0);
}

/// A pitch that rises by `step` semitones a frame, beside a higher peak that leaps about.
std::vector<PitchedFrame> rising(std::size_t first, std::size_t count, double step) {
    std::vector<PitchedFrame> frames;
    for (std::size_t i = 0; i < count; ++i) {
        const double leap = i % 3 == 0 ? 0.0 : i % 3 == 1 ? 7.0 : 15.0;
        frames.push_back(
            {first + i,
             {{raised(400.0, leap), 0.7}, {raised(120.0, step * static_cast<double>(i)), 0.6}}});
    }
    return frames;
}

TEST(PitchPath, FollowsTheSmoothPitchNotTheHighestPeaks) {
    const PitchPath path = strongest_path(rising(0, 21, 0.25));
    EXPECT_NEAR(path.gain, 21 * (0.6 - 0.4) - 20 * 0.25 * 0.1, rounding);
    EXPECT_NEAR(path.share, 0.6, rounding);
    EXPECT_NEAR(path.range, 16 * 0.25, rounding); // ten per cent off at either end
}

TEST(PitchPath, EndsWhereFramesAreMissing) {
    std::vector<PitchedFrame> frames = rising(0, 8, 0.0);
    const std::vector<PitchedFrame> later = rising(20, 12, 0.0);
    frames.insert(frames.end(), later.begin(), later.end());
    EXPECT_NEAR(strongest_path(frames).gain, 12 * (0.6 - 0.4), rounding);
}

TEST(PitchPath, OfWhatIsLessPeriodicThanNoiseThereIsNone) {
    EXPECT_EQ(strongest_path({}).gain, 0.0);
    EXPECT_EQ(strongest_path({{0, {{200.0, 0.3}}}, {1, {}}}).gain, 0.0);
}

} // namespace
} // namespace lull
