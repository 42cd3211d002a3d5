// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/level_tracker.hpp"
#include "signal/spectrum_tracker.hpp"

#include "made.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

double mean_of(std::span<const float> values) {
    double sum = 0.0;
    for (const float value : values)
        sum += static_cast<double>(value);
    return sum / static_cast<double>(values.size());
}

TEST(LevelTracker, HopsByDefinition) {
    constexpr double rate_hz = 11025.0; // a hop of 44 frames
    Block block = test::white(2, 1000, 1);
    block.first = 100;
    LevelTracker tracker(2, rate_hz, block.first);
    tracker.push(block);
    const std::vector<LevelTrack> tracks = tracker.take();
    ASSERT_EQ(tracks.size(), 2U);
    EXPECT_EQ(tracks[1].hop, 44);
    EXPECT_EQ(tracks[1].first, 132);        // the first multiple of 44 from 100 on
    ASSERT_EQ(tracks[1].power.size(), 22U); // (1100 - 132) / 44
    for (std::size_t hop = 0; hop < tracks[1].power.size(); ++hop) {
        double sum = 0.0, peak = 0.0;
        for (std::size_t n = 0; n < 44; ++n) {
            const double x = block.channel(1)[32 + hop * 44 + n];
            sum += x * x;
            peak = std::max(peak, std::abs(x));
        }
        EXPECT_NEAR(tracks[1].power[hop], sum / 44.0, 1e-6 * sum);
        EXPECT_EQ(tracks[1].peak[hop], static_cast<float>(peak));
    }
}

TEST(LevelTracker, FullScaleSineReadsThreeDecibelsLess) {
    const Block block = test::made(1, 16000, [](int, Frame n) {
        return std::sin(2.0 * std::numbers::pi * 1000.0 * static_cast<double>(n) / 16000.0);
    });
    LevelTracker tracker(1, 16000.0, 0);
    tracker.push(block);
    EXPECT_NEAR(*power_db(mean_of(tracker.take()[0].power)), -3.0103, 1e-4);
}

/// Tracks of the same samples with other blocks and another choice of channels.
template <class Tracker, class Compare>
void same_for_any_blocks(double rate_hz, Frame first, const Compare& compare) {
    const unsigned seed = 17;
    SCOPED_TRACE(testing::Message() << "seed " << seed << ", rate " << rate_hz);
    Block whole = test::white(5, 40000, seed);
    whole.first = first;
    Tracker at_once(5, rate_hz, first), in_pieces(2, rate_hz, first);
    at_once.push(whole);
    test::in_pieces(whole, {4, 1}, seed, [&](Block& piece) { in_pieces.push(piece); });
    const auto expected = at_once.take(), got = in_pieces.take();
    ASSERT_FALSE(expected[4].power.empty());
    EXPECT_EQ(got[0].first, expected[4].first);
    compare(got[0], expected[4]);
    compare(got[1], expected[1]);
}

TEST(LevelTracker, SameBytesForAnyBlocksAndChannels) {
    for (const double rate_hz : {8000.0, 11025.0, 48000.0})
        same_for_any_blocks<LevelTracker>(rate_hz, 12345, [](const auto& a, const auto& b) {
            EXPECT_TRUE(test::same_bytes(a.power, b.power));
            EXPECT_TRUE(test::same_bytes(a.peak, b.peak));
        });
}

TEST(SpectrumTracker, SameBytesForAnyBlocksAndChannels) {
    for (const double rate_hz : {4000.0, 11025.0, 16000.0, 48000.0})
        for (const Frame first : {0, 12345})
            same_for_any_blocks<SpectrumTracker>(
                rate_hz, first, [](const SpectrumTrack& a, const SpectrumTrack& b) {
                    EXPECT_TRUE(test::same_bytes(a.power, b.power));
                });
}

/// Two units of work that begin at different frames read the same windows, to the byte.
TEST(SpectrumTracker, UnitsAgreeWhereTheyOverlap) {
    const Block whole = test::white(1, 30000, 23);
    const auto track_from = [&](Frame first) {
        SpectrumTracker tracker(1, 16000.0, first);
        tracker.push(test::part(whole, first, whole.frames - first, {0}));
        return tracker.take()[0];
    };
    const SpectrumTrack early = track_from(0), late = track_from(10007);
    EXPECT_EQ(late.first % late.hop, 0);
    const auto skipped = static_cast<std::size_t>((late.first - early.first) / early.hop);
    ASSERT_EQ(early.frames(), late.frames() + skipped);
    for (std::size_t i = 0; i < late.frames(); ++i)
        ASSERT_TRUE(test::same_bytes(late.frame(i), early.frame(i + skipped))) << "frame " << i;
}

TEST(SpectrumTracker, WhiteNoiseHasItsShareInEachBand) {
    constexpr double sigma = 0.1;
    for (const double rate_hz : {8000.0, 16000.0, 48000.0}) {
        const unsigned seed = 29;
        SCOPED_TRACE(testing::Message() << "seed " << seed << ", rate " << rate_hz);
        const Block noise = test::white(1, static_cast<Frame>(60.0 * rate_hz), seed, sigma);
        SpectrumTracker tracker(1, rate_hz, 0);
        tracker.push(noise);
        const SpectrumTrack track = tracker.take()[0];
        const double bin_hz =
            rate_hz / static_cast<double>(fast_size(static_cast<std::size_t>(0.016 * rate_hz)));
        ASSERT_GE(track.bands(), 8U);
        EXPECT_LE(track.edges_hz.back(), std::min(8000.0, 0.45 * rate_hz) + 1e-9);
        for (std::size_t b = 0; b < track.bands(); ++b) {
            double sum = 0.0;
            for (std::size_t i = 0; i < track.frames(); ++i)
                sum += static_cast<double>(track.frame(i)[b]);
            const double bins =
                std::ceil(track.edges_hz[b + 1] / bin_hz) - std::ceil(track.edges_hz[b] / bin_hz);
            const double share = bins * bin_hz / (0.5 * rate_hz);
            // About 7500 windows of two bins and more: a standard error of at most 1 %.
            EXPECT_NEAR(sum / static_cast<double>(track.frames()) / (sigma * sigma * share), 1.0,
                        0.04)
                << "band " << b;
        }
    }
}

TEST(SpectrumTracker, ToneHasItsMeanSquareInItsBand) {
    const Block tone = test::made(1, 16000, [](int, Frame n) {
        return 0.5 * std::sin(2.0 * std::numbers::pi * 1000.0 * static_cast<double>(n) / 16000.0);
    });
    SpectrumTracker tracker(1, 16000.0, 0);
    tracker.push(tone);
    const SpectrumTrack track = tracker.take()[0];
    for (std::size_t i = 0; i < track.frames(); ++i)
        for (std::size_t b = 0; b < track.bands(); ++b) {
            const bool inside = track.edges_hz[b] < 1000.0 && track.edges_hz[b + 1] > 1000.0;
            ASSERT_NEAR(track.frame(i)[b], inside ? 0.125 : 0.0, 2e-5) << "band " << b;
        }
}

/// A click at frame t is loudest in the window whose centre, by the track, is nearest to t.
TEST(SpectrumTracker, WindowsLieAtTheTimesOfTheTrack) {
    for (const Frame click : {3000, 3040, 3333}) {
        Block block = test::made(1, 8000, [&](int, Frame n) { return n == click ? 1.0 : 0.0; });
        block.first = 1003;
        SpectrumTracker tracker(1, 16000.0, block.first);
        tracker.push(block);
        const SpectrumTrack track = tracker.take()[0];
        std::size_t loudest = 0;
        for (std::size_t i = 0; i < track.frames(); ++i)
            if (track.frame(i)[3] > track.frame(loudest)[3]) loudest = i;
        const Frame centre = track.first + static_cast<Frame>(loudest) * track.hop;
        EXPECT_LE(std::abs(centre - (click + block.first)), track.hop / 2) << "click at " << click;
    }
}

} // namespace
} // namespace lull
