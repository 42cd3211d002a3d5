// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/forest.hpp"

#include "detect/confidence.hpp"
#include "detect/internal/group_features.hpp"

#include "models/series_model.hpp"

#include <algorithm>
#include <gtest/gtest.h>
#include <random>
#include <stdexcept>
#include <string>
#include <string_view>
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
    std::string_view feature;
    double sign;
};

/// Where a schema names a feature.
std::size_t index_of(std::string_view schema, std::string_view feature) {
    std::size_t index = 0;
    for (std::size_t at = 0; at < schema.size(); ++index) {
        const std::size_t end = std::min(schema.find("; ", at), schema.size());
        if (schema.substr(at, end - at) == feature) return index;
        at = end + 2;
    }
    throw std::out_of_range(std::string(feature));
}

/// What the world says of a feature, scenes may not say otherwise (scripts/train/knock_models.py):
/// one feature is raised at random, and the log odds never go against its way.
TEST(Forest, OfSeriesFollowsSurroundingsOneWayOnly) {
    constexpr Way ways[] = {{"mean SNR [10 dB]", 1.0},
                            {"ln(1 + crowd per 10 s)", -1.0},
                            {"ln(1 + alike per 10 s)", -1.0},
                            {"ln(1 + stronger per 10 s)", -1.0},
                            {"share inside lasting sounds", -1.0},
                            {"log2 of the pause from what is alike [intervals]", 1.0},
                            {"log likelihood ratio of one source", 1.0},
                            {"ln of such groups by chance in a minute [4]", -1.0},
                            {"best channel over the next [10 dB]", -1.0}};
    constexpr unsigned seed = 7;
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> any(-4.0, 5.0);
    int moved = 0;
    for (std::size_t trial = 0; trial < 2000; ++trial) {
        std::vector<double> features(series_model::feature_count);
        for (double& feature : features)
            feature = any(random);
        const Way way = ways[trial % std::size(ways)];
        const double before = log_odds(series_model::forest, features);
        features[index_of(series_model::schema, way.feature)] += std::abs(any(random));
        const double change = log_odds(series_model::forest, features) - before;
        // Thresholds and values are rounded.
        EXPECT_GE(way.sign * change, -1e-3) << way.feature << ", seed " << seed;
        moved += change != 0.0 ? 1 : 0;
    }
    EXPECT_GT(moved, 300);
}

} // namespace
} // namespace lull
