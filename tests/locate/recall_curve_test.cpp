// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/recall_curve.hpp"

#include "locate/recall_counts.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace lull {
namespace {

TEST(RecallCurve, NeverFallsAndStaysAShare) {
    for (const SourceKind kind : {SourceKind::knock, SourceKind::voice}) {
        const RecallCurve curve = recall_curve(kind);
        double before = 0.0;
        for (double snr_db = -20.0; snr_db < 40.0; snr_db += 0.25) {
            const RecallPoint at = recall_at(curve, snr_db);
            EXPECT_GE(at.recall, before - 1e-12) << snr_db;
            EXPECT_LE(at.recall, 1.0);
            EXPECT_GE(at.sigma, 0.0);
            before = at.recall;
        }
        EXPECT_EQ(recall_at(curve, curve.points.front().snr_db - 6.0).recall, 0.0);
    }
}

TEST(RecallCurve, PointsAreThoseOfTheirCounts) {
    // The first count is pooled with none when the second's share is larger: beta distribution with
    // Jeffreys' prior, mean (h + 1/2)/(n + 1), variance m(1 - m)/(n + 2).
    const RecallCount &first = knock_counts[0], &second = knock_counts[1];
    ASSERT_LT(static_cast<double>(first.heard) / first.of,
              static_cast<double>(second.heard) / second.of);
    const RecallPoint at = recall_at(recall_curve(SourceKind::knock), first.snr_db);
    const double mean = (first.heard + 0.5) / (first.of + 1.0);
    EXPECT_NEAR(at.recall, mean, 1e-12);
    EXPECT_NEAR(at.sigma, std::sqrt(mean * (1.0 - mean) / (first.of + 2.0)), 1e-12);
}

TEST(RecallCurve, CountsCarryTheirCommand) {
    EXPECT_NE(recall_curve(SourceKind::voice).source.find("voices of made scenes"),
              std::string::npos);
}

} // namespace
} // namespace lull
