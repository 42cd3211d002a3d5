// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/internal/delay_likelihood.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <random>

namespace lull {
namespace {

constexpr double rate_hz = 8000.0, two_pi = 2.0 * std::numbers::pi;
constexpr std::size_t transform_size = 512;
constexpr double single_precision = 1e-5; ///< of the coefficients, summed over some hundred bins

/// Coefficients of bins [first, end) that turn back by `delay_s`: all in phase there.
PhaseSum in_phase_at(double delay_s, std::size_t first, std::size_t end) {
    PhaseSum sum;
    sum.bin_omega = two_pi * rate_hz / static_cast<double>(transform_size);
    sum.bins = {first, end};
    const std::size_t count = (end - first + bin_lanes - 1) / bin_lanes * bin_lanes;
    sum.real.resize(count), sum.imaginary.resize(count);
    for (std::size_t i = 0; i < end - first; ++i) {
        const auto w = std::polar(1.0, -sum.bin_omega * static_cast<double>(first + i) * delay_s);
        sum.real[i] = static_cast<float>(w.real());
        sum.imaginary[i] = static_cast<float>(w.imag());
    }
    return sum;
}

TEST(DelayLikelihood, SumAndDerivativesAreTheSlowFormulas) {
    const PhaseSum sum = in_phase_at(0.00031, 5, 129);
    constexpr double at_s = -0.00047;
    double level = 0.0, slope = 0.0, bend = 0.0;
    for (std::size_t i = 0; i < sum.bins.count(); ++i) {
        const double omega = sum.bin_omega * static_cast<double>(sum.bins.first + i);
        const auto term =
            std::complex<double>(sum.real[i], sum.imaginary[i]) * std::polar(1.0, omega * at_s);
        level += term.real();
        slope -= omega * term.imag();
        bend -= omega * omega * term.real();
    }
    const PhaseValue found = sum.at(at_s);
    const double omega = sum.bin_omega * 129.0, largest = 124.0;
    EXPECT_NEAR(found.level, level, 1e-9 * largest);
    EXPECT_NEAR(found.slope, slope, 1e-9 * largest * omega);
    EXPECT_NEAR(found.bend, bend, 1e-9 * largest * omega * omega);
}

/// The grid has four points in the shortest period: also where all lies at the highest frequencies
/// the maximum is found between its points.
TEST(DelayLikelihood, MaximaAreFoundBetweenThePointsOfTheGrid) {
    constexpr std::uint64_t seed = 12;
    std::mt19937_64 random(seed);
    std::uniform_real_distribution<double> any(-0.0014, 0.0014);
    TransformRoom room;
    for (const std::size_t first : {5U, 60U, 112U})
        for (int n = 0; n < 50; ++n) {
            const double delay_s = any(random);
            const PhaseSum sum = in_phase_at(delay_s, first, 129);
            const auto found = maxima(sum, rate_hz, 0.0015, transform_size, room);
            ASSERT_FALSE(found.empty());
            EXPECT_NEAR(found.front().delay_s, delay_s, 1e-8) << "seed " << seed << ", " << n;
            EXPECT_NEAR(found.front().level, static_cast<double>(129 - first),
                        single_precision * 129.0);
            for (std::size_t k = 1; k < found.size(); ++k)
                EXPECT_LE(found[k].level, found[k - 1].level);
        }
}

} // namespace
} // namespace lull
