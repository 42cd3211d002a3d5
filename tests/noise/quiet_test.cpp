// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/quiet.hpp"

#include "conventions.hpp"
#include "noise/levels.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace lull {
namespace {

/// Channels of one site, one value a second: independent noise over a common level history.
template <class Course>
std::vector<std::vector<float>> site(std::uint64_t seed, int channels, int seconds,
                                     Course&& level_db) {
    std::mt19937_64 random(seed);
    std::gamma_distribution<double> power(100.0, 0.01); // a second of a band 100 Hz wide
    std::vector<std::vector<float>> tracks(static_cast<std::size_t>(channels));
    for (int s = 0; s < seconds; ++s)
        for (std::size_t c = 0; c < tracks.size(); ++c)
            tracks[c].push_back(static_cast<float>(1e-6 * static_cast<double>(c + 1) *
                                                   power(random) * db_to_power(level_db(s))));
    return tracks;
}

TEST(QuietPeriods, EdgesAreFoundWithinASecond) {
    for (double drop_db : {6.0, 10.0, 20.0})
        for (std::uint64_t seed = 1; seed <= 50; ++seed) {
            const int from = 300 + static_cast<int>(seed),
                      to = from + 40 + 5 * static_cast<int>(seed);
            const auto tracks =
                site(seed, 3, 1200, [&](int s) { return s >= from && s < to ? -drop_db : 0.0; });
            const auto periods = quiet_periods(tracks, 10.0, 1.0);
            ASSERT_EQ(periods.size(), 1U) << "seed " << seed << ", " << drop_db << " dB";
            EXPECT_NEAR(periods[0].from_s, 10.0 + from, 1.0) << "seed " << seed;
            EXPECT_NEAR(periods[0].to_s, 10.0 + to, 1.0) << "seed " << seed;
            EXPECT_NEAR(periods[0].drop_db, drop_db, 0.5) << "seed " << seed;
        }
}

TEST(QuietPeriods, NoneInTenHoursOfSteadyOrDriftingNoise) {
    constexpr int ten_hours = 36000;
    for (std::uint64_t seed = 1; seed <= 10; ++seed) {
        EXPECT_TRUE(
            quiet_periods(site(seed, 1, ten_hours, [](int) { return 0.0; }), 0.0, 1.0).empty())
            << seed;
        const auto drift =
            site(seed, 3, ten_hours, [](int s) { return 10.0 * std::sin(s / 600.0); });
        EXPECT_TRUE(quiet_periods(drift, 0.0, 1.0).empty())
            << "10 dB up and down in an hour, seed " << seed;
    }
}

TEST(QuietPeriods, EventsNeitherMakeNorBreakOne) {
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        auto tracks = site(seed, 4, 900, [](int s) { return s >= 400 && s < 520 ? -8.0 : 0.0; });
        std::mt19937_64 random(seed);
        for (int event = 0; event < 60; ++event) {
            const std::size_t at = random() % 897;
            for (auto& track : tracks)
                for (std::size_t i = at; i < at + 2; ++i)
                    track[i] *= 30.0F;
        }
        const auto periods = quiet_periods(tracks, 0.0, 1.0);
        ASSERT_EQ(periods.size(), 1U) << "seed " << seed;
        EXPECT_NEAR(periods[0].from_s, 400.0, 3.0)
            << "seed " << seed; // an event may lie on the edge
        EXPECT_NEAR(periods[0].to_s, 520.0, 5.0) << "seed " << seed;
    }
}

TEST(QuietPeriods, OneChannelAloneMakesNone) {
    auto tracks = site(3, 5, 600, [](int) { return 0.0; });
    for (std::size_t i = 200; i < 300; ++i)
        tracks[0][i] *= 0.01F;
    for (std::size_t i = 100; i < 500; ++i)
        tracks[1][i] = 0.0F; // dead for a time
    EXPECT_TRUE(quiet_periods(tracks, 0.0, 1.0).empty());
}

TEST(QuietPeriods, MayTouchStartAndEnd) {
    const auto tracks = site(4, 3, 600, [](int s) { return s < 60 || s >= 500 ? -10.0 : 0.0; });
    const auto periods = quiet_periods(tracks, 0.0, 1.0);
    ASSERT_EQ(periods.size(), 2U);
    EXPECT_EQ(periods[0].from_s, 0.0);
    EXPECT_NEAR(periods[0].to_s, 60.0, 1.0);
    EXPECT_NEAR(periods[1].from_s, 500.0, 1.0);
    EXPECT_EQ(periods[1].to_s, 600.0);
    EXPECT_TRUE(quiet_periods({}, 0.0, 1.0).empty());
}

TEST(QuietPeriods, ShortRecordingMostlyQuiet) {
    // A generator stops over three seconds at 18 s and starts again at 82 s of 90 s. There are a
    // horn at 14 s, knocks and a drip. Quiet fills two thirds; only 18 s and 8 s lie outside.
    for (std::uint64_t seed = 1; seed <= 50; ++seed) {
        auto tracks = site(seed, 5, 90, [](int s) {
            return s < 18 || s >= 84 ? 0.0 : s < 21 ? -4.0 * (s - 17) : s >= 82 ? -5.0 : -13.0;
        });
        for (auto& track : tracks) {
            for (int s = 14; s < 17; ++s)
                track[static_cast<std::size_t>(s)] *= 6.0F;
            for (int s : {23, 31, 32, 44, 45, 46, 52, 53, 54, 64})
                track[static_cast<std::size_t>(s)] *= 10.0F;
            for (std::size_t s = 0; s < 90; s += 2)
                track[s] *= 1.4F;
        }
        const auto periods = quiet_periods(tracks, 0.0, 1.0);
        ASSERT_EQ(periods.size(), 1U) << "seed " << seed;
        EXPECT_NEAR(periods[0].from_s, 19.0, 2.0) << "seed " << seed;
        EXPECT_NEAR(periods[0].to_s, 83.0, 1.5) << "seed " << seed;
        EXPECT_NEAR(periods[0].drop_db, 13.0, 1.5) << "seed " << seed;
    }
}

TEST(QuietPeriods, NoneAfterARunOfEvents) {
    // People work for 15 s, at the start and again later. What follows is the usual state.
    for (std::uint64_t seed = 1; seed <= 50; ++seed) {
        std::mt19937_64 random(seed);
        std::uniform_real_distribution<double> strength(3.0, 20.0);
        const auto tracks = site(seed, 4, 90, [&](int s) {
            return s < 15 || (s >= 50 && s < 65) ? strength(random) : 0.0;
        });
        EXPECT_TRUE(quiet_periods(tracks, 0.0, 1.0).empty()) << "seed " << seed;
    }
}

/// An alarm that switches on and off. Its edges are so close together that they would change order
/// if each were placed by itself.
TEST(QuietPeriods, PeriodsOfAJumpingLevelAreInOrderWithinTheRecording) {
    constexpr int seconds = 100;
    for (std::uint64_t seed = 1; seed <= 2000; ++seed) {
        std::mt19937_64 random(seed);
        std::uniform_real_distribution<double> change(0.0, 1.0), level(-20.0, 20.0);
        double now_db = 0.0;
        const auto tracks = site(seed, 1, seconds, [&](int) {
            if (change(random) < 0.3) now_db = level(random);
            return now_db;
        });
        double reached_s = 0.0;
        for (const QuietPeriod& period : quiet_periods(tracks, 0.0, 1.0)) {
            EXPECT_GE(period.from_s, reached_s) << "seed " << seed;
            EXPECT_GT(period.to_s, period.from_s) << "seed " << seed;
            reached_s = period.to_s;
        }
        EXPECT_LE(reached_s, seconds) << "seed " << seed;
    }
}

TEST(BandLevels, MeanMedianAndFloorOfIntervals) {
    std::mt19937_64 random(5);
    std::exponential_distribution<float> power(1.0F);
    constexpr Frame hop = 1000, steps = 40000;
    std::vector<float> powers(steps);
    for (float& p : powers)
        p = power(random);
    FloorTrack floor{0, 10000, std::vector<float>(4000, 0.5F), std::vector<float>(4000, 1.0F)};
    const Frame end = hop * steps;
    BandLevels whole({100.0}, 0, end, 0);
    whole.add(0, powers, 0, hop, floor, 0, end);
    const auto rows = whole.levels(2, 1000.0);
    ASSERT_EQ(rows.size(), 1U);
    EXPECT_EQ(rows[0].channel, 2);
    EXPECT_NEAR(10.0 * std::log10(rows[0].level), 0.0, 0.05);
    // An exponential's median is ln 2 of its mean: -1.592 dB.
    EXPECT_NEAR(10.0 * std::log10(rows[0].median), -1.592, 0.1);
    EXPECT_DOUBLE_EQ(rows[0].floor, 0.5);

    BandLevels joined;
    for (Frame unit = 0; unit < 4; ++unit) {
        BandLevels part({100.0}, 0, end, 0);
        part.add(0, powers, 0, hop, floor, unit * end / 4, (unit + 1) * end / 4);
        joined.append(part);
    }
    EXPECT_EQ(joined.levels(2, 1000.0)[0].median, rows[0].median);
    EXPECT_NEAR(joined.levels(2, 1000.0)[0].level, rows[0].level, 1e-12);
}

TEST(BandLevels, IntervalsOverUnits) {
    const std::vector<float> powers(100, 2.0F);
    BandLevels joined;
    for (Frame unit = 0; unit < 2; ++unit) {
        BandLevels part({100.0, 125.0}, 0, 100, 30);
        for (std::size_t band : {0U, 1U})
            part.add(band, powers, 0, 1, {}, unit * 50, (unit + 1) * 50);
        joined.append(part);
    }
    const auto rows = joined.levels(0, 1.0);
    ASSERT_EQ(rows.size(), 8U);
    EXPECT_EQ(rows[6].from_s, 90.0);
    EXPECT_EQ(rows[6].to_s, 100.0);
    for (const NoiseLevel& row : rows)
        EXPECT_NEAR(10.0 * std::log10(row.median), 3.01, 0.03);
}

} // namespace
} // namespace lull
