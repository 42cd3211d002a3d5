// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/extent.hpp"

#include "made.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

namespace lull {
namespace {

TEST(Extent, IsZeroWithoutValues) {
    const Extent extent = extent_of({});
    EXPECT_EQ(extent.low, 0.0F);
    EXPECT_EQ(extent.high, 0.0F);
    EXPECT_EQ(extent.sum, 0.0);
}

/// Tests every length up to a few times the lanes, and every place of the extremes.
TEST(Extent, EqualsACountOneByOne) {
    const Block block = test::white(1, 70, 4);
    for (std::size_t first = 0; first < 20; ++first)
        for (std::size_t count = 1; first + count <= 70; ++count) {
            const auto samples = block.channel(0).subspan(first, count);
            const Extent extent = extent_of(samples);
            EXPECT_EQ(extent.low, *std::ranges::min_element(samples));
            EXPECT_EQ(extent.high, *std::ranges::max_element(samples));
            // Doubles hold sums of so few floats exactly except for the last bits.
            EXPECT_NEAR(extent.sum, std::accumulate(samples.begin(), samples.end(), 0.0), 1e-14);
        }
}

} // namespace
} // namespace lull
