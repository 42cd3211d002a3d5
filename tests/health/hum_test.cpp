// SPDX-License-Identifier: GPL-3.0-or-later
#include "conformance.hpp"
#include "health/support.hpp"

#include <cmath>
#include <initializer_list>
#include <numbers>
#include <optional>
#include <string>
#include <tuple>

namespace lull {
namespace {

constexpr double frequency_tolerance_hz = 0.02, level_tolerance_db = 0.5; // as reports promise

std::vector<float> with_tone(std::vector<float> x, double rate_hz, double hz, double amplitude) {
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] += static_cast<float>(
            amplitude * std::sin(2.0 * std::numbers::pi * hz * static_cast<double>(i) / rate_hz));
    return x;
}

TEST(Hum, FrequencyAndLevelAtEveryRate) {
    for (double rate_hz : {4000.0, 8000.0, 16000.0, 44100.0, 48000.0})
        for (double hz : {49.87, 50.04, 59.95, 60.11}) {
            std::vector<float> x = test::healthy_channel(21, rate_hz, 30.0);
            x = with_tone(with_tone(x, rate_hz, hz, 0.02), rate_hz, 3.0 * hz, 0.01);
            const auto hum = hum_of(test::measure(x, rate_hz).hum);
            ASSERT_TRUE(hum.has_value()) << rate_hz << " Hz, " << hz;
            EXPECT_NEAR(hum->frequency_hz, hz, frequency_tolerance_hz) << rate_hz;
            EXPECT_NEAR(10.0 * std::log10(hum->harmonic_power[0]),
                        10.0 * std::log10(0.5 * 0.02 * 0.02), level_tolerance_db)
                << rate_hz;
            EXPECT_NEAR(10.0 * std::log10(hum->harmonic_power[2]),
                        10.0 * std::log10(0.5 * 0.01 * 0.01), level_tolerance_db)
                << rate_hz;
            EXPECT_EQ(hum->harmonic_power[1], 0.0) << "a harmonic that is not there";
        }
}

TEST(Hum, OfKnownFrequencyMadeBySox) {
    const std::vector<float> x = test::sox("-R -r 16000 -n -c 1 -b 24",
                                           "synth 60 sine 50.13 synth 60 pinknoise mix vol -26dB");
    if (x.empty()) GTEST_SKIP() << "SoX is not installed";
    const auto hum = hum_of(test::measure(x, 16000.0).hum);
    ASSERT_TRUE(hum.has_value());
    check_conformance({"mains tone of 50.13 Hz in pink noise: frequency", "SoX", "synth sine 50.13",
                       50.13, hum->frequency_hz, frequency_tolerance_hz, "Hz"});
    // SoX mixes the two at half their level: a sine of amplitude 1/2, then -26 dB.
    check_conformance({"mains tone of 50.13 Hz in pink noise: level", "SoX", "synth mix, vol -26dB",
                       20.0 * std::log10(0.5) - 3.0103 - 26.0,
                       10.0 * std::log10(hum->harmonic_power[0]), level_tolerance_db, "dB"});
}

TEST(Hum, NoneInPinkNoise) {
    const std::vector<float> x =
        test::sox("-R -r 16000 -n -c 1 -b 24", "synth 60 pinknoise vol -20dB");
    if (x.empty()) GTEST_SKIP() << "SoX is not installed";
    EXPECT_FALSE(hum_of(test::measure(x, 16000.0).hum).has_value());
}

TEST(Hum, GeneratorOffSpeedIsMeasured) {
    const double rate_hz = 8000.0;
    const auto hum = hum_of(
        test::measure(with_tone(test::healthy_channel(23, rate_hz, 40.0), rate_hz, 51.3, 0.003),
                      rate_hz)
            .hum);
    ASSERT_TRUE(hum.has_value());
    EXPECT_NEAR(hum->frequency_hz, 51.3, frequency_tolerance_hz);
}

TEST(Hum, GeneratorIsMeasuredAtEverySpeedAndDuringADrift) {
    const double rate_hz = 8000.0;
    // A constant speed, and one that rises by 1.4 Hz within two minutes.
    for (const auto& [from_hz, to_hz] :
         {std::pair{47.2, 47.2}, {52.9, 52.9}, {57.3, 57.3}, {62.8, 62.8}, {49.3, 50.7}}) {
        std::vector<float> x = test::healthy_channel(26, rate_hz, 120.0);
        double turns = 0.0;
        for (std::size_t i = 0; i < x.size(); ++i) {
            const double part = static_cast<double>(i) / static_cast<double>(x.size());
            turns += (from_hz + part * (to_hz - from_hz)) / rate_hz;
            x[i] += static_cast<float>(0.02 * std::sin(2.0 * std::numbers::pi * turns) +
                                       0.01 * std::sin(6.0 * std::numbers::pi * turns));
        }
        const auto hum = hum_of(test::measure(x, rate_hz).hum);
        ASSERT_TRUE(hum.has_value()) << from_hz;
        EXPECT_NEAR(hum->frequency_hz, 0.5 * (from_hz + to_hz), frequency_tolerance_hz);
        EXPECT_NEAR(10.0 * std::log10(hum->harmonic_power[0]), 10.0 * std::log10(0.5 * 0.02 * 0.02),
                    level_tolerance_db)
            << from_hz;
        EXPECT_NEAR(10.0 * std::log10(hum->harmonic_power[2]), 10.0 * std::log10(0.5 * 0.01 * 0.01),
                    level_tolerance_db)
            << from_hz;
    }
}

TEST(Hum, HornAtAHigherHarmonicIsNoHum) {
    const double rate_hz = 8000.0;
    EXPECT_FALSE(hum_of(test::measure(with_tone(test::healthy_channel(25, rate_hz, 40.0), rate_hz,
                                                420.0, 0.05),
                                      rate_hz)
                            .hum)
                     .has_value());
}

/// The findings on a channel with tones.
std::vector<std::string> said_of(std::initializer_list<double> tones_hz,
                                 std::optional<double> mains_hz) {
    const double rate_hz = 8000.0;
    std::vector<float> x = test::healthy_channel(27, rate_hz, 40.0);
    for (const double hz : tones_hz)
        x = with_tone(std::move(x), rate_hz, hz, 0.02);
    const ChannelHealth health = test::measure(x, rate_hz);
    const ChannelFacts facts{ChannelKind::seismic, {}, mains_hz};
    std::vector<std::string> said;
    for (const Finding& finding : findings(std::span(&health, 1), rate_hz, std::span(&facts, 1)))
        said.push_back(finding.finding);
    return said;
}

TEST(Hum, ToneOffTheMainsFrequencyIsAMachineTone) {
    using Said = std::vector<std::string>;
    EXPECT_EQ(said_of({58.5}, 50.0), Said{"machine tone"});
    EXPECT_EQ(said_of({58.5}, {}), Said{"machine tone"}); // 2.5 % under 60 Hz
    EXPECT_EQ(said_of({60.0}, 50.0), Said{"machine tone"});
    EXPECT_EQ(said_of({60.0}, {}), Said{"mains hum"});
    // EN 50160, 4.2.1: 49 to 51 Hz for an isolated grid, 95 % of a week.
    EXPECT_EQ(said_of({49.1}, 50.0), Said{"mains hum"});
    EXPECT_EQ(said_of({50.9}, {}), Said{"mains hum"});
    EXPECT_EQ(said_of({51.5}, 50.0), Said{"machine tone"});
    EXPECT_EQ(said_of({50.0, 58.5}, 50.0).size(), 2U) << "one does not hide the other";
}

TEST(Hum, IsAFindingOnlyWhenItMatters) {
    // A fiftieth of a channel's power hides nothing; a fifth is for information; most of it makes
    // the channel doubtful.
    const double rate_hz = 8000.0, rms = 0.01;
    for (const auto& [share, found, severity] :
         {std::tuple{0.02, false, 0}, {0.3, true, 0}, {0.9, true, 1}}) {
        std::vector<float> x = test::healthy_channel(24, rate_hz, 30.0, rms);
        double rest = 0.0;
        for (float v : x)
            rest += static_cast<double>(v) * static_cast<double>(v) / static_cast<double>(x.size());
        const double amplitude = std::sqrt(2.0 * rest * share / (1.0 - share));
        const auto health =
            test::measure(with_tone(std::move(x), rate_hz, 50.02, amplitude), rate_hz);
        ASSERT_TRUE(hum_of(health.hum).has_value()) << "measured in any case, share " << share;
        const auto all = test::judge(health, rate_hz);
        EXPECT_EQ(test::has(all, "mains hum"), found) << share;
        for (const Finding& finding : all)
            if (finding.finding == "mains hum") {
                EXPECT_EQ(finding.severity, severity) << share;
            }
    }
}

} // namespace
} // namespace lull
