// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/thinner.hpp"

#include <cmath>
#include <gtest/gtest.h>
#include <numbers>
#include <random>
#include <span>
#include <vector>

namespace lull {
namespace {

/// Amplitude of a unit tone in the decimated stream, and its largest difference from the tone.
struct Left {
    double amplitude = 0.0, off = 0.0;
};

Left thinned_tone(double frequency_hz, double rate_hz) {
    const Thinner thinner(rate_hz);
    std::vector<float> out(400), in(thinner.wanted(out.size()));
    const auto tone = [&](double frames) {
        return std::sin(2.0 * std::numbers::pi * frequency_hz * frames / rate_hz);
    };
    for (std::size_t i = 0; i < in.size(); ++i)
        in[i] = static_cast<float>(
            tone(static_cast<double>(i) - static_cast<double>(thinner.before())));
    thinner.thin(in, out);
    Left left;
    for (std::size_t m = 0; m < out.size(); ++m) {
        left.amplitude = std::max(left.amplitude, static_cast<double>(std::abs(out[m])));
        left.off = std::max(left.off, std::abs(static_cast<double>(out[m]) -
                                               tone(static_cast<double>(m * thinner.factor()))));
    }
    return left;
}

TEST(Thinner, RateIsAtLeastFourThousand) {
    for (const double rate :
         {4000.0, 7999.0, 8000.0, 11025.0, 16000.0, 44100.0, 48000.0, 192000.0}) {
        const Thinner thinner(rate);
        EXPECT_GE(thinner.rate_hz(), thin_rate_hz);
        EXPECT_LT(thinner.rate_hz(), 2.0 * thin_rate_hz);
        EXPECT_NEAR(thinner.rate_hz() * static_cast<double>(thinner.factor()), rate, 1e-9);
    }
}

TEST(Thinner, TonesInThePassBandStayInTimeAndLevel) {
    constexpr double flat = 0.012; // 0.1 dB
    for (const double rate : {7000.0, 8000.0, 16000.0, 44100.0, 48000.0})
        for (const double share : {0.02, 0.1, 0.25, thin_pass})
            EXPECT_LT(thinned_tone(share * Thinner(rate).rate_hz(), rate).off, flat)
                << share << " of " << rate;
}

TEST(Thinner, AliasesInThePassBandAreRemoved) {
    constexpr double folded = 0.0126; // 38 dB down
    for (const double rate : {8000.0, 16000.0, 44100.0, 48000.0})
        for (const double share : {0.601, 0.75, 0.97})
            EXPECT_LT(thinned_tone(share * Thinner(rate).rate_hz(), rate).amplitude, folded)
                << share << " of " << rate;
}

TEST(Thinner, OutputDependsOnItsOwnSamplesOnly) {
    const unsigned seed = 31;
    for (const double rate : {8000.0, 16000.0, 44100.0}) {
        const Thinner thinner(rate);
        std::mt19937 generator(seed);
        std::normal_distribution<float> normal;
        std::vector<float> out(600), one(1), in(thinner.wanted(out.size()));
        for (float& x : in)
            x = normal(generator);
        thinner.thin(in, out);
        for (std::size_t m = 0; m < out.size(); ++m) {
            thinner.thin(std::span(in).subspan(m * thinner.factor(), thinner.wanted(1)), one);
            EXPECT_EQ(one[0], out[m]) << m << " of rate " << rate << ", seed " << seed;
        }
    }
}

} // namespace
} // namespace lull
