// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/false_counts.hpp"
#include "detect/false_rate.hpp"

#include <cmath>
#include <gtest/gtest.h>

using namespace lull;

TEST(FalseRate, ARateThatWasCountedHasTheConfidenceThatWasCounted) {
    for (const FalseCount& count : tapping_false)
        EXPECT_DOUBLE_EQ(confidence_for(EventKind::tapping, count.per_hour), count.confidence);
    for (const FalseCount& count : voice_like_false)
        EXPECT_DOUBLE_EQ(confidence_for(EventKind::voice_like, count.per_hour), count.confidence);
}

TEST(FalseRate, BetweenCountedRatesFewerFalseFindsAskForMoreConfidence) {
    for (const EventKind kind : {EventKind::tapping, EventKind::voice_like, EventKind::horn}) {
        double before = confidence_for(kind, least_false_per_hour);
        EXPECT_LE(before, 1.0);
        for (double rate = 1.5; rate <= most_false_per_hour; rate += 0.5) {
            const double confidence = confidence_for(kind, rate);
            EXPECT_LE(confidence, before) << name_of(kind) << ' ' << rate;
            before = confidence;
        }
    }
}

TEST(FalseRate, HalfwayOnTheLogarithmOfTheRateIsHalfwayBetweenTheConfidences) {
    const FalseCount& low = tapping_false[0];
    const FalseCount& high = tapping_false[1];
    EXPECT_NEAR(confidence_for(EventKind::tapping, std::sqrt(low.per_hour * high.per_hour)),
                0.5 * (low.confidence + high.confidence), 1e-12);
}

TEST(FalseRate, WhatTheBenchDoesNotCountIsNeverHidden) {
    EXPECT_EQ(confidence_for(EventKind::other, least_false_per_hour), 0.0);
}
