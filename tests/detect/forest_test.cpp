// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/forest.hpp"

#include "detect/confidence.hpp"
#include "detect/internal/group_features.hpp"
#include "detect/series_forest.hpp"

#include <gtest/gtest.h>
#include <random>
#include <span>
#include <vector>

namespace lull {
namespace {

TEST(Forest, AddsTheLeafOfEachTree) {
    // Feature 0 at most 1: 10; above it feature 1 decides at 5 between 20 and 30. Then a tree that
    // is one leaf, and one of a single question.
    const ForestNode nodes[] = {{0, 2, 1.0F},   {-1, 0, 10.0F},  {1, 2, 5.0F},
                                {-1, 0, 20.0F}, {-1, 0, 30.0F},  {-1, 0, 0.5F},
                                {1, 2, 0.0F},   {-1, 0, 100.0F}, {-1, 0, 200.0F}};
    const Forest forest{1000.0, nodes};
    const auto at = [&](double a, double b) {
        const double features[] = {a, b};
        return log_odds(forest, features);
    };
    EXPECT_DOUBLE_EQ(at(1.0, 7.0), 1210.5); // on the threshold is not above it
    EXPECT_DOUBLE_EQ(at(1.5, 5.0), 1220.5);
    EXPECT_DOUBLE_EQ(at(1.5, 5.1), 1230.5);
    EXPECT_DOUBLE_EQ(at(0.0, -1.0), 1110.5);
}

struct Way {
    std::size_t feature;
    double sign;
};

/// Raises features at random and expects that the log odds never go against their ways.
void expect_ways(const Forest& forest, std::size_t count, std::span<const Way> ways,
                 unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> any(-4.0, 5.0);
    int moved = 0;
    for (std::size_t trial = 0; trial < 2000; ++trial) {
        std::vector<double> features(count);
        for (double& feature : features)
            feature = any(random);
        const Way way = ways[trial % ways.size()];
        const double before = log_odds(forest, features);
        features[way.feature] += std::abs(any(random));
        const double change = log_odds(forest, features) - before;
        // Thresholds and values are rounded.
        EXPECT_GE(way.sign * change, -1e-3) << "feature " << way.feature << ", seed " << seed;
        moved += change != 0.0 ? 1 : 0;
    }
    EXPECT_GT(moved, 300);
}

/// What the world says of a feature, scenes may not say otherwise
/// (scripts/train/model_text.py).
TEST(Forest, OfSeriesSpeaksOneWayOfWhatLiesAround) {
    constexpr Way ways[] = {{4, 1.0},  {6, -1.0}, {17, -1.0}, {18, -1.0}, {19, -1.0},
                            {20, 1.0}, {21, 1.0}, {23, -1.0}, {31, -1.0}};
    expect_ways({series_bias, series_nodes}, series_feature_count, ways, 7);
}

} // namespace
} // namespace lull
