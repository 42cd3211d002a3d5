// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/ranking.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>

namespace lull {
namespace {

constexpr double rate_hz = 8000.0;
constexpr double exact_db = 1e-9; ///< double arithmetic

struct Described : Recording {
    [[nodiscard]] std::unique_ptr<Stream> open() const override { return nullptr; }
};

Channel channel(std::string name, ChannelKind kind, std::string axis = "z") {
    Channel made;
    made.name = std::move(name);
    made.kind = kind;
    made.axis = std::move(axis);
    return made;
}

Described three(ChannelKind kind) {
    Described recording;
    recording.rate_hz = rate_hz;
    recording.channels = {channel("stairwell", kind), channel("north-slab", kind),
                          channel("cellar-door", kind)};
    return recording;
}

void calibrate(Described& recording, double volts_per_m_s) {
    for (Channel& c : recording.channels) {
        c.sensitivity = Sensitivity{volts_per_m_s, SensitivityUnit::volt_per_velocity};
        c.full_scale_v = 1.0;
    }
}

TEST(PeakEnergy, IsTheMeanPowerOfTheLoudestFiftyMilliseconds) {
    // 50 ms of a sine of 200 Hz (whole periods) of amplitude 0.5 in silence: 0.125.
    std::vector<float> samples(4000);
    for (std::size_t n = 0; n < 400; ++n)
        samples[1234 + n] = static_cast<float>(
            0.5 * std::sin(2.0 * std::numbers::pi * 200.0 * static_cast<double>(n) / rate_hz));
    EXPECT_NEAR(peak_energy(samples, rate_hz), 0.125, 1e-6);
}

TEST(PeakEnergy, EqualsTheDirectSum) {
    constexpr std::uint32_t seed = 11;
    std::mt19937 random(seed);
    std::normal_distribution<float> normal(0.0F, 0.1F);
    std::vector<float> samples(1500);
    for (float& sample : samples)
        sample = normal(random);
    double largest = 0.0;
    for (std::size_t from = 0; from + 400 <= samples.size(); ++from) {
        double sum = 0.0;
        for (std::size_t n = 0; n < 400; ++n)
            sum += std::pow(static_cast<double>(samples[from + n]), 2);
        largest = std::max(largest, sum / 400.0);
    }
    EXPECT_NEAR(peak_energy(samples, rate_hz), largest, 1e-12) << "seed " << seed;
}

TEST(PeakEnergy, OfFewerSamplesIsTheirMean) {
    const std::vector<float> samples(10, 0.5F);
    EXPECT_NEAR(peak_energy(samples, rate_hz), 0.25, 1e-12);
    EXPECT_EQ(peak_energy({}, rate_hz), 0.0);
}

TEST(Ranking, FollowsTheEnergyByConstruction) {
    const Described recording = three(ChannelKind::seismic);
    const std::vector<PeakEnergy> measured{{1e-4, 1e-6}, {1e-2, 1e-6}, {1e-3, 1e-6}};
    const auto rows = rank_event({7, 1.0, 1.2, {0, 1, 2}}, measured, recording);
    ASSERT_EQ(rows.size(), 3U);
    const std::array<int, 3> order{1, 2, 0};
    const std::array<double, 3> level{-20.0, -30.0, -40.0};
    for (std::size_t n = 0; n < 3; ++n) {
        EXPECT_EQ(rows[n].event, 7);
        EXPECT_EQ(rows[n].rank, static_cast<int>(n) + 1);
        EXPECT_EQ(rows[n].channel, order[n]);
        EXPECT_NEAR(*rows[n].peak_energy_db, level[n], exact_db);
        EXPECT_NEAR(*rows[n].below_strongest_db, -20.0 - level[n], exact_db);
        EXPECT_NEAR(*rows[n].snr_db, level[n] + 60.0, exact_db);
        EXPECT_EQ(rows[n].comparable, "assumed"); // nobody calibrated them
    }
}

TEST(Ranking, OfCalibratedChannelsOnOneAxisIsComparable) {
    Described recording = three(ChannelKind::seismic);
    calibrate(recording, 100.0);
    // A factor of ten in gain takes back a factor of a hundred in power.
    recording.channels[0].gain_db = 20.0;
    const std::vector<PeakEnergy> measured{{1e-2, 1e-6}, {1e-3, 1e-6}, {1e-5, 1e-7}};
    const auto rows = rank_event({1, 1.0, 1.2, {0, 1, 2}}, measured, recording);
    ASSERT_EQ(rows.size(), 3U);
    EXPECT_EQ(rows[0].channel, 1);
    EXPECT_EQ(rows[1].channel, 0);
    EXPECT_EQ(rows[2].channel, 2);
    EXPECT_NEAR(*rows[1].below_strongest_db, 10.0, exact_db);
    // 1e-3 of full scale squared at 1 V and 100 V/(m/s): 3.162e-4 m/s, 110 dB re 1 nm/s.
    EXPECT_NEAR(*rows[0].peak_energy_db, 110.0, 1e-6);
    for (const RankRow& row : rows)
        EXPECT_EQ(row.comparable, "yes");
}

TEST(Ranking, SensorsOnDifferentAxesAreNotComparable) {
    Described recording = three(ChannelKind::seismic);
    calibrate(recording, 100.0);
    recording.channels[2].axis = "x";
    const std::vector<PeakEnergy> measured(3, {1e-3, 1e-6});
    bool no = false;
    for (const RankRow& row : rank_event({1, 1.0, 1.2, {0, 1, 2}}, measured, recording))
        no = no || (row.channel == 2 && row.comparable == "no");
    EXPECT_TRUE(no);
}

TEST(Ranking, KindsAreRankedApart) {
    Described recording = three(ChannelKind::seismic);
    recording.channels[1].kind = ChannelKind::air;
    const std::vector<PeakEnergy> measured{{1e-4, 1e-6}, {1e-2, 1e-6}, {1e-3, 1e-6}};
    for (const RankRow& row : rank_event({1, 1.0, 1.2, {0, 1, 2}}, measured, recording)) {
        EXPECT_EQ(row.kind, row.channel == 1 ? ChannelKind::air : ChannelKind::seismic);
        EXPECT_EQ(row.rank, row.channel == 0 ? 2 : 1);
        EXPECT_NEAR(*row.below_strongest_db, row.channel == 0 ? 10.0 : 0.0, exact_db);
    }
}

TEST(Ranking, AChannelThatDidNotHearItHasNoRank) {
    const Described recording = three(ChannelKind::air);
    const std::vector<PeakEnergy> measured{{1.1e-6, 1e-6}, {1e-2, 1e-6}, {0.0, 0.0}};
    const auto rows = rank_event({1, 1.0, 1.2, {1}}, measured, recording);
    ASSERT_EQ(rows.size(), 3U);
    EXPECT_EQ(rows[0].rank, 1);
    for (std::size_t n = 1; n < 3; ++n) {
        EXPECT_FALSE(rows[n].rank);
        EXPECT_FALSE(rows[n].below_strongest_db);
    }
    // A dead channel has no level: not a number, and never 0.
    for (const RankRow& row : rows)
        EXPECT_EQ(row.channel == 2, !row.peak_energy_db && !row.snr_db);
}

TEST(Ranking, OverADigitallySilentFloorTheSnrIsInfinite) {
    const Described recording = three(ChannelKind::seismic);
    const auto rows =
        rank_event({1, 1.0, 1.2, {0, 1, 2}},
                   std::vector<PeakEnergy>{{1e-6, 0.0}, {4e-6, 1e-9}, {0.0, 0.0}}, recording);
    for (const RankRow& row : rows) {
        if (row.channel == 0) {
            EXPECT_EQ(row.snr_db, std::numeric_limits<double>::infinity());
        }
        EXPECT_EQ(row.snr_db.has_value(), row.channel != 2) << "nothing is there on 2";
    }
}

TEST(Ranking, OfAllEventsIsByTheirMeanEnergy) {
    const Described recording = three(ChannelKind::seismic);
    const std::vector<EventSpan> events{{1, 1.0, 1.2, {0, 1, 2}}, {2, 3.0, 3.2, {0, 1, 2}}};
    const std::vector<std::vector<PeakEnergy>> measured{{{4e-3, 1e-6}, {1e-3, 1e-6}, {2e-3, 1e-6}},
                                                        {{1e-3, 1e-6}, {5e-3, 1e-6}, {2e-3, 1e-6}}};
    TotalRanking total(recording, events.size());
    for (std::size_t e = 0; e < events.size(); ++e)
        total.add(events[e], measured[e]);
    const auto rows = total.rows();
    ASSERT_EQ(rows.size(), 3U);
    EXPECT_EQ(rows[0].event, 0);
    EXPECT_EQ(rows[0].channel, 1); // mean 3e-3
    EXPECT_EQ(rows[1].channel, 0); // mean 2.5e-3
    EXPECT_EQ(rows[2].channel, 2); // mean 2e-3
    EXPECT_NEAR(*rows[0].peak_energy_db, 10.0 * std::log10(3e-3), exact_db);
    EXPECT_TRUE(TotalRanking(recording, 0).rows().empty());
}

TEST(Ranking, StretchIsCutToTheRecording) {
    EXPECT_EQ(ranking_stretch({1, 0.01, 0.3, {}}, rate_hz, 2400),
              (std::pair<Frame, Frame>{0, 2400}));
    EXPECT_EQ(ranking_stretch({1, 1.0, 1.1, {}}, rate_hz, 80000),
              (std::pair<Frame, Frame>{7600, 9200}));
}

} // namespace
} // namespace lull
