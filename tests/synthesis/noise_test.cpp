// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/active_level.hpp"

#include "conformance.hpp"
#include "signal/fft.hpp"
#include "synthesis/noise_bed.hpp"
#include "synthesis/random.hpp"
#include "synthesis/scenes.hpp"
#include "synthesis/snr.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace lull {
namespace {

/// Mean power per bin of Hann-windowed segments that overlap by half [Welch 1967]. The bins add up
/// to the power.
std::vector<double> welch(std::span<const float> samples, std::size_t size) {
    const RealFft fft(size);
    std::vector<float> piece(size);
    std::vector<std::complex<float>> bins(fft.bins());
    std::vector<double> power(fft.bins(), 0.0);
    std::size_t pieces = 0;
    for (std::size_t first = 0; first + size <= samples.size(); first += size / 2, ++pieces) {
        for (std::size_t n = 0; n < size; ++n) {
            const double window =
                0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * static_cast<double>(n) /
                                     static_cast<double>(size));
            piece[n] = samples[first + n] * static_cast<float>(window);
        }
        fft.forward(piece, bins);
        for (std::size_t k = 0; k < power.size(); ++k)
            power[k] += static_cast<double>(std::norm(bins[k]));
    }
    const double count = static_cast<double>(size);
    for (double& value : power)
        value *= 2.0 / (count * count * 0.375 * static_cast<double>(pieces));
    return power;
}

std::vector<float> noise_of(const Plan& plan, std::size_t channel) {
    const Layout layout = draw_layout(plan, Random(3));
    NoiseBed bed(plan, layout, Random(4));
    const auto chunks =
        static_cast<std::size_t>(plan.duration_s * plan.rate_hz) / bed.chunk_frames();
    std::vector<float> out(chunks * bed.chunk_frames());
    for (std::size_t i = 0; i < chunks; ++i) {
        bed.render(static_cast<Frame>(i), channel,
                   std::span(out).subspan(i * bed.chunk_frames(), bed.chunk_frames()));
    }
    return out;
}

TEST(Random, FirstNumberIsThatOfSplitMix64) {
    // Reference output for seed 0 [Steele, Lea & Flood 2014; values from memory].
    Random random(0);
    EXPECT_EQ(random.bits(), 0xe220a8397b1dcdafULL);
    EXPECT_EQ(random.bits(), 0x6e789e6aa1b965f4ULL);
}

TEST(NoiseBed, ThirdOctavesMeetTheirTargets) {
    Plan plan = bare_plan(600.0);
    plan.site.clear();
    SiteLayer layer;
    layer.kind = LayerKind::noise;
    // Uneven on purpose: steps of up to 9 dB between neighbours.
    layer.third_octaves = {
        {25, -58},  {31.5, -55}, {40, -52},   {50, -52},   {63, -50},   {80, -47},   {100, -52},
        {125, -55}, {160, -49},  {200, -58},  {250, -58},  {315, -60},  {400, -57},  {500, -62},
        {630, -60}, {800, -66},  {1000, -64}, {1250, -70}, {1600, -68}, {2000, -72}, {2500, -75}};
    plan.site.push_back(layer);
    constexpr double tolerance_db = 0.5;
    const auto samples = noise_of(plan, 0);
    const std::size_t size = 32768;
    const auto power = welch(samples, size);
    double worst_db = 0.0;
    for (const auto& [nominal_hz, level_db] : layer.third_octaves) {
        const double middle_hz =
            1000.0 * std::pow(10.0, std::round(10.0 * std::log10(nominal_hz / 1000.0)) / 10.0);
        const double step_hz = plan.rate_hz / static_cast<double>(size);
        double sum = 0.0;
        for (std::size_t k = 0; k < power.size(); ++k) {
            const double hz =
                static_cast<double>(k) * step_hz; // edges of IEC 61260-1:2014, base ten
            if (hz >= middle_hz * std::pow(10.0, -0.05) && hz < middle_hz * std::pow(10.0, 0.05))
                sum += power[k];
        }
        const double off_db = 10.0 * std::log10(sum) - level_db;
        EXPECT_NEAR(off_db, 0.0, tolerance_db) << nominal_hz << " Hz";
        if (std::abs(off_db) > std::abs(worst_db)) worst_db = off_db;
    }
    check_conformance({"exercise, noise: worst of 21 third octaves against its target",
                       "IEC 61260-1:2014", "band edges; levels by Welch 1967 over 600 s", 0.0,
                       worst_db, tolerance_db, "dB"});
}

TEST(NoiseBed, FloorEqualsTheMeasuredOne) {
    for (const LayerKind kind : {LayerKind::ambient, LayerKind::generator, LayerKind::rain}) {
        for (const bool placed : {false, true}) {
            Plan plan = bare_plan(120.0);
            plan.site[0].kind = kind;
            plan.site[0].level_db = -45.0;
            if (placed) plan.site[0].position_m = Position{-20, 10, 0};
            const Layout layout = draw_layout(plan, Random(3));
            NoiseBed bed(plan, layout, Random(4));
            const auto banded =
                in_band(noise_of(plan, 1), plan.rate_hz, default_band(plan.rate_hz));
            double measured = 0.0, stated = 0.0;
            for (const float value : banded)
                measured += static_cast<double>(value) * static_cast<double>(value) /
                            static_cast<double>(banded.size());
            constexpr int steps = 240;
            for (int i = 0; i < steps; ++i)
                stated += bed.floor_power(1, static_cast<Frame>(i) * 4000) / steps;
            EXPECT_NEAR(10.0 * std::log10(measured / stated), 0.0, 0.3) << name_of(kind) << placed;
        }
    }
}

TEST(NoiseBed, NoiseWithAPlaceIsDelayedByItsPath) {
    Plan plan = bare_plan(30.0);
    plan.site[0].kind = LayerKind::rain;
    plan.site[0].level_db = -40.0;
    plan.site[0].position_m = Position{0, 0, 0};
    const auto near = noise_of(plan, 0), far = noise_of(plan, 2);
    std::size_t best = 0;
    double most = 0.0;
    for (std::size_t lag = 0; lag < 400; ++lag) {
        double sum = 0.0;
        for (std::size_t n = 0; n + lag < near.size(); n += 3)
            sum += static_cast<double>(near[n]) * static_cast<double>(far[n + lag]);
        if (sum > most) most = sum, best = lag;
    }
    EXPECT_EQ(best, 150u); // 15 m at 800 m/s and 8000 frames a second
}

/// The active level of bursts: 1 s of tone (amplitude 0.1) in every 3 s. Two cascaded averages of
/// 30 ms rise towards the mean size 0.2 / pi with 1 - (1 + t/T) exp(-t/T) and fall with the
/// complement. What lies above the threshold, with 0.2 s of hangover, is active. The threshold lies
/// 15.9 dB below the level.
double burst_active_level_db(double long_term_db) {
    const auto rest = [](double t_s) { return (1.0 + t_s / 0.03) * std::exp(-t_s / 0.03); };
    const auto time_of = [&](double share) { // rest() falls to the share
        double low = 0.0, high = 1.0;
        for (int i = 0; i < 60; ++i)
            (rest(0.5 * (low + high)) > share ? low : high) = 0.5 * (low + high);
        return low;
    };
    double level_db = long_term_db;
    for (int i = 0; i < 60; ++i) {
        const double share = std::pow(10.0, (level_db - 15.9) / 20.0) / (0.2 / std::numbers::pi);
        const double active_s = 1.0 - time_of(1.0 - share) + time_of(share) + 0.2;
        level_db = long_term_db - 10.0 * std::log10(active_s / 3.0);
    }
    return level_db;
}

TEST(ActiveLevel, EqualsTheLevelOfTheBurstsAlone) {
    // P.56's principle: pauses longer than the hangover do not count. 1 s of tone, 2 s of silence.
    constexpr double rate_hz = 8000.0;
    std::vector<float> samples;
    for (int i = 0; i < 10 * 24000; ++i) {
        const bool on = i % 24000 < 8000;
        samples.push_back(on ? 0.1F * static_cast<float>(std::sin(0.7 * i)) : 0.0F);
    }
    const auto found = active_level(samples, rate_hz);
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->long_term_db, -23.01 - 4.77, 0.05);
    // Thresholds a factor of two apart are joined by a straight line; the exact curve is not
    // straight.
    constexpr double tolerance_db = 0.1;
    check_conformance(
        {"exercise, active level of bursts: 1 s of tone, 2 s of silence", "ITU-T P.56 (12/2011)",
         "method B, its envelope and margin solved in closed form",
         burst_active_level_db(found->long_term_db), found->level_db, tolerance_db, "dB"});
    EXPECT_NEAR(found->level_db, found->long_term_db - 10.0 * std::log10(found->activity), 0.01);
    // What lies more than the margin of 15.9 dB below the active level does not count. Room noise
    // 26 dB down in the pauses changes neither activity nor level.
    for (std::size_t n = 0; n < samples.size(); ++n) {
        if (n % 24000 >= 8000)
            samples[n] = 0.005F * static_cast<float>(std::sin(0.7 * static_cast<double>(n)));
    }
    const auto murmured = active_level(samples, rate_hz);
    ASSERT_TRUE(murmured);
    EXPECT_NEAR(murmured->activity, found->activity, 0.03);
    EXPECT_NEAR(murmured->level_db, found->level_db, 0.3);
    EXPECT_FALSE(active_level(std::vector<float>(8000, 0.0F), rate_hz));
}

} // namespace
} // namespace lull
