// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/correlate.hpp"

#include "made.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

TEST(Correlate, SumByDefinitionAndItsSign) {
    const Block noise = test::white(2, 60, 2);
    const auto a = std::span(noise.samples).first(60), b = std::span(noise.samples).subspan(60, 40);
    constexpr std::size_t size = 128;
    const std::vector<float> got = correlation(cross_spectrum(a, b, size), size);
    for (int lag = -59; lag < 40; ++lag) {
        double direct = 0.0;
        for (int n = 0; n < 60; ++n)
            if (n + lag >= 0 && n + lag < 40)
                direct += static_cast<double>(a[static_cast<std::size_t>(n)]) *
                          static_cast<double>(b[static_cast<std::size_t>(n + lag)]);
        EXPECT_NEAR(got[static_cast<std::size_t>((lag + 128) % 128)], direct, 1e-6)
            << "lag " << lag;
    }
}

/// A burst made of many sines, so that it can be computed at any fraction of a sample.
std::vector<float> burst(double delay, unsigned seed, double noise_sigma, unsigned noise_seed) {
    std::mt19937 shape(seed), noise_source(noise_seed);
    std::uniform_real_distribution<double> any(0.0, 1.0);
    std::normal_distribution<double> normal(0.0, noise_sigma);
    struct Part {
        double omega, phase;
    };
    std::vector<Part> parts(60);
    for (Part& part : parts)
        part = {0.05 + 1.2 * any(shape), 2.0 * std::numbers::pi * any(shape)};
    std::vector<float> samples(1200);
    for (std::size_t n = 0; n < samples.size(); ++n) {
        const double t = static_cast<double>(n) - 600.0 - delay;
        double sum = 0.0;
        for (const Part& part : parts)
            sum += std::cos(part.omega * t + part.phase);
        samples[n] = static_cast<float>(std::exp(-t * t / (2.0 * 150.0 * 150.0)) * sum +
                                        normal(noise_source));
    }
    return samples;
}

TEST(Correlate, FractionalDelaysToAFiftiethOfASample) {
    // A burst of mean square 30 at its peak, 30 dB over noise of sigma 0.17.
    constexpr double sigma = 0.17, allowance = 0.02;
    constexpr std::size_t size = 4096;
    for (unsigned seed = 1; seed <= 20; ++seed) {
        const double delay = 0.37 * static_cast<double>(seed) - 4.0;
        const auto a = burst(0.0, seed, sigma, 100 + seed),
                   b = burst(delay, seed, sigma, 200 + seed);
        const auto cross = cross_spectrum(a, b, size);
        const std::vector<float> values = correlation(cross, size);
        const auto top = static_cast<int>(std::ranges::max_element(values) - values.begin());
        const int lag = top > static_cast<int>(size) / 2 ? top - static_cast<int>(size) : top;
        EXPECT_NEAR(band_limited_peak(cross, size, lag), delay, allowance) << "seed " << seed;
        const auto value = [&](int at) {
            return values[static_cast<std::size_t>((at + static_cast<int>(size)) %
                                                   static_cast<int>(size))];
        };
        // The parabola is less accurate: a tenth of a sample.
        EXPECT_NEAR(lag + parabolic_peak(value(lag - 1), value(lag), value(lag + 1)), delay, 0.1)
            << "seed " << seed;
    }
}

TEST(Correlate, ParabolaIsExactForParabolas) {
    const auto value = [](double x) { return 5.0 - 2.0 * (x - 0.3) * (x - 0.3); };
    EXPECT_NEAR(parabolic_peak(value(-1), value(0), value(1)), 0.3, 1e-12);
    EXPECT_EQ(parabolic_peak(1.0, 1.0, 1.0), 0.0);
}

} // namespace
} // namespace lull
