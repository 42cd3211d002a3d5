// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/recall_curve.hpp"

#include "locate/recall_counts.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr std::array grounds{RecallGround::any, RecallGround::calm, RecallGround::weather,
                             RecallGround::machines, RecallGround::people};

/// Heard and counted knocks at one SNR, over all grounds, with at least so many channels.
RecallCount counted(int fewest_channels, double snr_db) {
    RecallCount sum{RecallGround::any, fewest_channels, snr_db, 0, 0};
    for (const RecallCount& count : knock_counts) {
        if (count.fewest_channels != fewest_channels || count.snr_db != snr_db) continue;
        sum.heard += count.heard;
        sum.of += count.of;
    }
    return sum;
}

TEST(RecallCurve, NeverFallsAndStaysBetweenZeroAndOne) {
    for (const SourceKind kind : {SourceKind::knock, SourceKind::voice})
        for (const RecallGround ground : grounds)
            for (const int channels : {1, 2, 3, 4, 5, 12, 40}) {
                const RecallCurve curve = recall_curve(kind, channels, ground);
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
    // Where the shares rise nothing is pooled: beta distribution with Jeffreys' prior, mean (h +
    // 1/2)/(n + 1), variance m(1 - m)/(n + 2). Where they fall, neighbours share one mean.
    for (const int channels : {1, 3, 5}) {
        const RecallCurve curve = recall_curve(SourceKind::knock, channels);
        int compared = 0;
        for (const RecallPoint& point : curve.points) {
            const auto alike = std::ranges::count(curve.points, point.recall, &RecallPoint::recall);
            if (alike > 1) continue;
            const RecallCount count = counted(channels, point.snr_db);
            const double mean = (count.heard + 0.5) / (count.of + 1.0);
            EXPECT_NEAR(point.recall, mean, 1e-12) << channels << ' ' << point.snr_db;
            EXPECT_NEAR(point.sigma, std::sqrt(mean * (1.0 - mean) / (count.of + 2.0)), 1e-12);
            ++compared;
        }
        EXPECT_GT(compared, 0) << channels;
    }
}

TEST(RecallCurve, StatesGroundAndNumberOfChannels) {
    int own = 0;
    for (const RecallGround ground : grounds) {
        const RecallCurve curve = recall_curve(SourceKind::voice, 4, ground);
        const std::string said = fmt::format(" voices of made scenes, {} ground, 3 to 4 channels, ",
                                             ground_name(curve.ground));
        EXPECT_NE(curve.source.find(said), std::string::npos) << curve.source;
        // If a ground has too few counts, those of any ground are used, and the curve says so.
        EXPECT_TRUE(curve.ground == ground || curve.ground == RecallGround::any);
        own += curve.ground == ground;
    }
    EXPECT_GE(own, 1);
    EXPECT_NE(recall_curve(SourceKind::knock, 2).source.find("1 to 2 channels"), std::string::npos);
    EXPECT_NE(recall_curve(SourceKind::knock, 30)
                  .source.find(fmt::format("5 to {} channels", most_counted_channels)),
              std::string::npos);
}

} // namespace
} // namespace lull
