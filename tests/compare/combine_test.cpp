// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/combine.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace lull {
namespace {

DelayEstimate delay(double delay_s, double sigma_s, bool usable = true) {
    DelayEstimate one;
    one.delay_s = delay_s, one.sigma_s = sigma_s, one.usable = usable, one.correlation = 0.9;
    return one;
}

TEST(CombinedDelay, WeighsByTheSigmas) {
    const DelayEstimate one =
        combined_delay(std::vector{delay(1.00e-3, 1e-5), delay(1.01e-3, 2e-5)});
    EXPECT_TRUE(one.usable);
    EXPECT_NEAR(one.delay_s, (1.00e-3 * 4.0 + 1.01e-3) / 5.0, 1e-12);
    EXPECT_NEAR(one.sigma_s, 1.0 / std::sqrt(1e10 + 0.25e10), 1e-12);
}

TEST(CombinedDelay, LeavesOutWhatDisagrees) {
    const DelayEstimate one = combined_delay(std::vector{delay(1e-3, 1e-5), delay(1.001e-3, 1e-5),
                                                         delay(0.999e-3, 1e-5), delay(4e-3, 1e-5)});
    EXPECT_NEAR(one.delay_s, 1e-3, 1e-9);
}

TEST(CombinedDelay, SpreadBeyondTheSigmasCounts) {
    const DelayEstimate one = combined_delay(
        std::vector{delay(1.00e-3, 1e-5), delay(1.03e-3, 1e-5), delay(0.97e-3, 1e-5)});
    EXPECT_GT(one.sigma_s, 1.5 * 1e-5 / std::sqrt(3.0));
}

TEST(CombinedDelay, WhatFollowsTheFirstWaveDoesNotAverageOut) {
    std::vector<DelayEstimate> delays(16, delay(1e-3, 5e-5));
    for (DelayEstimate& one : delays)
        one.path_sigma_s = 4e-5; // 3e-5 are the noise's
    const DelayEstimate combined = combined_delay(delays);
    EXPECT_NEAR(combined.path_sigma_s, 4e-5, 1e-12);
    EXPECT_NEAR(combined.sigma_s, std::hypot(4e-5, 3e-5 / 4.0), 1e-12);
}

TEST(CombinedDelay, NothingUsableOrNoAgreementIsRefused) {
    EXPECT_FALSE(combined_delay(std::vector{delay(1e-3, 1e-5, false)}).usable);
    EXPECT_FALSE(combined_delay(std::vector{delay(1e-3, 1e-5), delay(2e-3, 1e-5), delay(3e-3, 1e-5),
                                            delay(4e-3, 1e-5)})
                     .usable);
}

} // namespace
} // namespace lull
