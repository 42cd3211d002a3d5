// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/internal/first_windows.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <random>
#include <vector>

namespace lull {
namespace {

constexpr double pi = std::numbers::pi, rate_hz = 8000.0;
constexpr Band band{60.0, 2000.0};
constexpr double single_precision = 2e-5; ///< of a transform of some hundred samples of size 1

/// 0 before -2 ms, 1 from -1 ms on, fading over the second half.
double slow_window(double after_onset_s, double length_s) {
    const double up = std::clamp((after_onset_s + 0.002) / 0.001, 0.0, 1.0);
    const double down = std::clamp((length_s - after_onset_s) / (0.5 * length_s), 0.0, 1.0);
    return 0.25 * (1.0 - std::cos(pi * up)) * (1.0 - std::cos(pi * down));
}

TEST(FirstWindows, SpectrumIsTheSlowSum) {
    std::mt19937_64 random(4);
    std::uniform_real_distribution<float> any(-1.0F, 1.0F);
    std::vector<float> samples(700);
    for (float& sample : samples)
        sample = any(random);
    TransformRoom room;
    // The first begins before the samples, the last ends after them.
    for (const double onset : {3.3, 200.0, 350.77, 690.5})
        for (const FirstWindow& kind : window_kinds) {
            HeardSpectrum heard;
            hear_window(heard, samples, {}, onset, kind, rate_hz, band, room);
            const std::ptrdiff_t first = first_of_window(onset, rate_hz);
            double squares = 0.0, weights = 0.0;
            for (std::size_t k = heard.bins.first; k < heard.bins.end; k += 7) {
                std::complex<double> sum;
                squares = weights = 0.0;
                for (std::ptrdiff_t n = first; n < first + 400; ++n) {
                    const double weight =
                        slow_window((static_cast<double>(n) - onset) / rate_hz, kind.length_s);
                    squares += weight * weight, weights += weight;
                    if (n < 0 || n >= std::ssize(samples)) continue;
                    sum += weight * static_cast<double>(samples[static_cast<std::size_t>(n)]) *
                           std::polar(1.0, -2.0 * pi * static_cast<double>(k) *
                                               static_cast<double>(n - first) /
                                               static_cast<double>(heard.size));
                }
                const std::size_t i = k - heard.bins.first;
                EXPECT_NEAR(heard.real[i], sum.real(), single_precision * weights);
                EXPECT_NEAR(heard.imaginary[i], sum.imag(), single_precision * weights);
            }
            EXPECT_NEAR(heard.frames, squares, 1e-9 * squares);
        }
}

} // namespace
} // namespace lull
