// SPDX-License-Identifier: GPL-3.0-or-later
//
// Physics of the paths, each compared with the law that it states.
#include "synthesis/path.hpp"

#include "conformance.hpp"
#include "synthesis/scenes.hpp"
#include "synthesis/strike.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr double rate_hz = 8000.0;

/// A click without energy near half the rate, centred at `middle` frames.
std::vector<float> soft_click(std::size_t middle) {
    std::vector<float> click(2 * middle + 1);
    for (std::size_t n = 0; n < click.size(); ++n) {
        const double x = (static_cast<double>(n) - static_cast<double>(middle)) / 3.0;
        click[n] = static_cast<float>(std::exp(-x * x));
    }
    return click;
}

std::vector<Path> paths_of(const Plan& plan, const Position& source, bool in_air) {
    const Layout layout = draw_layout(plan, Random(1));
    std::vector<Path> paths;
    for (std::size_t c = 0; c < plan.channels.size(); ++c)
        paths.push_back(path_between(plan, layout, source, in_air, c));
    return paths;
}

double energy(const Heard& heard) {
    double sum = 0.0;
    for (const float value : heard.samples)
        sum += static_cast<double>(value) * static_cast<double>(value);
    return sum;
}

/// Frame of the largest sample, interpolated by a parabola.
double peak_frame(const Heard& heard) {
    const auto top = std::max_element(heard.samples.begin(), heard.samples.end());
    const double a = top[-1], b = top[0], c = top[1];
    return static_cast<double>(heard.first + (top - heard.samples.begin())) +
           0.5 * (a - c) / (a - 2.0 * b + c);
}

TEST(PathLaw, BodyWavesFallSixDecibelsPerDoublingSurfaceWavesThree) {
    // [any seismology textbook; Aki & Richards 2002]: amplitude 1/r and 1/sqrt(r).
    for (const auto& [spreading, step_db] :
         {std::pair{Spreading::body, 6.0206}, std::pair{Spreading::surface, 3.0103}}) {
        Plan plan = bare_plan();
        plan.structure.spreading = spreading;
        const auto heard = travel(soft_click(20), 1.0, paths_of(plan, {0, 0, 0}, false), rate_hz);
        for (std::size_t c = 0; c < 2; ++c)
            check_conformance(
                {fmt::format("exercise, {} waves: fall from {} to {} m",
                             spreading == Spreading::body ? "body" : "surface", 5 << c, 10 << c),
                 "Aki & Richards 2002", "spreading: amplitude 1/r, surface 1/sqrt(r)", step_db,
                 10.0 * std::log10(energy(heard[c]) / energy(heard[c + 1])), 0.01, "dB"});
    }
}

TEST(PathLaw, DelayIsDistanceOverSpeed) {
    const Plan plan = bare_plan();
    constexpr double tolerance_frames = 0.05;
    const auto heard = travel(soft_click(20), 1.0, paths_of(plan, {0, 0, 0}, false), rate_hz);
    const double metres[] = {5.0, 10.0, 20.0};
    for (std::size_t c = 0; c < 3; ++c) {
        check_conformance({fmt::format("exercise, delay over {} m at 800 m/s", metres[c]),
                           "distance over speed", "in frames at 8 kHz", metres[c] / 800.0 * rate_hz,
                           peak_frame(heard[c]) - rate_hz - 20.0, tolerance_frames, "frames"});
    }
    // 343.2 * sqrt(288.15 / 293.15) m/s
    check_conformance({"exercise, delay over 8 m of air at 15 C", "ISO 9613-1:1993",
                       "speed of sound, in frames at 8 kHz", 8.0 / 340.26 * rate_hz,
                       peak_frame(heard[3]) - rate_hz - 20.0, tolerance_frames, "frames"});
}

TEST(PathLaw, SpeedOfSoundFollowsTheStandard) {
    constexpr double printed = 0.051; // one decimal
    const double listed[][2] = {{-10, 325.2}, {0, 331.3}, {10, 337.3}, {20, 343.2}, {30, 349.0}};
    for (const auto& [celsius, metres] : listed)
        check_conformance({fmt::format("exercise, speed of sound at {} C", celsius),
                           "ISO 9613-1:1993", "343.2 m/s sqrt(T / 293.15 K)", metres,
                           sound_speed_m_s(celsius), printed, "m/s"});
}

TEST(PathLaw, AbsorptionIsRightAtEveryFrequency) {
    // Amplitude exp(-pi f t / Q) [Aki & Richards 2002]: 100 ms through Q = 30.
    Plan plan = bare_plan();
    plan.structure.quality = 30.0;
    plan.channels[0].position_m = {80.0, 0.0, 0.0};
    const Path path = paths_of(plan, {0, 0, 0}, false)[0];
    const auto bins = direct_response(path, 8000, rate_hz, 0.0);
    for (const std::size_t hz : {60u, 250u, 1000u, 2000u}) {
        const double expected_db = -20.0 * std::log10(80.0) - 8.685889638 * std::numbers::pi *
                                                                  static_cast<double>(hz) * 0.1 /
                                                                  30.0;
        check_conformance({fmt::format("exercise, Q = 30 over 100 ms at {} Hz", hz),
                           "Aki & Richards 2002", "chapter 5: exp(-pi f t / Q)", expected_db,
                           20.0 * std::log10(static_cast<double>(std::abs(bins[hz]))), 0.01, "dB"});
    }
}

TEST(PathLaw, ScatteredTailDecaysAtTheGivenRate) {
    // Backward integration [Schroeder 1965; ISO 3382]: -5 to -25 dB, times three. The tail is one
    // drawn noise, so the decay of many paths is averaged.
    Plan plan = bare_plan();
    plan.structure.tail_decay_s = 0.6;
    plan.structure.tail_db = 10.0;
    constexpr int places = 40;
    constexpr double tolerance =
        0.08; // mean of 40 single decays with a spread of about 8 % each, with a margin
    double sum_s = 0.0;
    for (int place = 0; place < places; ++place) {
        const auto heard =
            travel(soft_click(8), 0.0, paths_of(plan, {-1.0 * place, 3, 0}, false), rate_hz);
        std::vector<double> left(heard[0].samples.size() + 1, 0.0);
        for (std::size_t n = heard[0].samples.size(); n-- > 0;) {
            left[n] = left[n + 1] + std::pow(static_cast<double>(heard[0].samples[n]), 2.0);
        }
        // Leaves out the direct wave: starts 10 ms after it.
        const auto from = static_cast<std::size_t>(
                              std::max_element(heard[0].samples.begin(), heard[0].samples.end()) -
                              heard[0].samples.begin()) +
                          80;
        const auto frame_at = [&](double db) {
            std::size_t n = from;
            while (left[n] > left[from] * std::pow(10.0, db / 10.0))
                ++n;
            return static_cast<double>(n);
        };
        sum_s += 3.0 * (frame_at(-25.0) - frame_at(-5.0)) / rate_hz;
    }
    check_conformance({"exercise, decay time of the scattered tail, asked for 0.6 s",
                       "ISO 3382-1:2009", "backward integration [Schroeder 1965], mean of 40", 0.6,
                       sum_s / places, tolerance * 0.6, "s"});
}

/// Correlation of a channel's signals from a click at two places, without the direct wave.
double likeness(const Plan& plan, const Position& one, const Position& other) {
    std::vector<float> heard[2];
    for (int i = 0; i < 2; ++i) {
        Path path = paths_of(plan, i == 0 ? one : other, false).front();
        path.delay_s = 0.0;
        path.tail_energy = 100.0; // almost only the tail
        heard[i] = travel(soft_click(20), 0.0, {&path, 1}, rate_hz).front().samples;
    }
    double both = 0.0, first = 0.0, second = 0.0;
    for (std::size_t n = 0; n < std::min(heard[0].size(), heard[1].size()); ++n) {
        both += static_cast<double>(heard[0][n]) * static_cast<double>(heard[1][n]);
        first += static_cast<double>(heard[0][n]) * static_cast<double>(heard[0][n]);
        second += static_cast<double>(heard[1][n]) * static_cast<double>(heard[1][n]);
    }
    return both / std::sqrt(first * second);
}

TEST(PathLaw, ScatterIsSimilarAtNearSensorsAndDifferentAtFarOnes) {
    Plan plan = bare_plan();
    plan.structure.tail_db = 0.0;
    plan.structure.tail_decay_s = 0.2;
    EXPECT_GT(likeness(plan, {3.1, 2.2, 0.0}, {3.1, 2.2, 0.0}), 0.999);
    EXPECT_GT(likeness(plan, {3.1, 2.2, 0.0}, {3.14, 2.2, 0.0}), 0.9); // a hand's width
    EXPECT_LT(std::abs(likeness(plan, {3.1, 2.2, 0.0}, {5.1, 2.2, 0.0})), 0.4);
}

TEST(PathLaw, DispersionMakesHighFrequenciesComeFirst) {
    Plan plan = bare_plan();
    plan.structure.dispersion = 0.05;
    const Path path = paths_of(plan, {0, 0, 0}, false)[2];
    const auto bins = direct_response(path, 8000, rate_hz, 0.0);
    // Phase delay r / (c (1 + D ln(f / 300 Hz))), counted from r / c.
    for (const double hz : {100.0, 300.0, 1000.0}) {
        const double lag_s = 20.0 / 800.0 * (1.0 / (1.0 + 0.05 * std::log(hz / 300.0)) - 1.0);
        const double turns =
            std::remainder(static_cast<double>(std::arg(bins[static_cast<std::size_t>(hz)])) /
                                   (2.0 * std::numbers::pi) +
                               hz * lag_s,
                           1.0);
        EXPECT_NEAR(turns, 0.0, 1e-4) << hz;
    }
}

TEST(PathLaw, PoorContactLosesHighFrequencies) {
    EXPECT_EQ(contact_response(1.0, 500.0), std::complex<double>(1.0));
    EXPECT_GT(std::abs(contact_response(0.2, 80.0)), 3.0 * std::abs(contact_response(0.2, 1000.0)));
    EXPECT_LT(std::abs(contact_response(0.2, 500.0)), std::abs(contact_response(0.8, 500.0)));
}

TEST(Strike, ModeDecaysAtTheGivenRate) {
    Struck struck;
    struck.modes = {{400.0, 0.5, 1.0}};
    struck.crunch = 0.0;
    // Strikes vary by a tenth round the given decay, so the mean of many is compared.
    double sum_s = 0.0;
    constexpr int strikes = 60;
    for (int i = 0; i < strikes; ++i) {
        Random random(static_cast<std::uint64_t>(i));
        const auto samples = strike(struck, random, rate_hz);
        double early = 0.0, late = 0.0;
        for (std::size_t n = 0; n < 400; ++n) {
            early += std::pow(static_cast<double>(samples[400 + n]), 2.0);
            late += std::pow(static_cast<double>(samples[2000 + n]), 2.0);
        }
        sum_s += 60.0 * 0.2 / (10.0 * std::log10(early / late));
    }
    check_conformance({"exercise, decay time of a knock's mode, asked for 0.5 s",
                       "exponential decay", "60 dB, mean of 60 strikes", 0.5, sum_s / strikes, 0.02,
                       "s"});
}

TEST(Strike, KnocksDifferAndHaveSeveralModes) {
    for (const Material material :
         {Material::concrete, Material::steel, Material::pipe, Material::timber, Material::brick}) {
        Random random(7);
        const Struck struck = draw_struck(material, random);
        EXPECT_GE(struck.modes.size(), 4u);
        EXPECT_NE(strike(struck, random, rate_hz), strike(struck, random, rate_hz))
            << name_of(material);
    }
}

} // namespace
} // namespace lull
