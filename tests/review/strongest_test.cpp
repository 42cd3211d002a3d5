// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/strongest.hpp"

#include "review/place.hpp"

#include <gtest/gtest.h>
#include <limits>

namespace lull {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

TEST(Strongest, OfEachHourAndAllThatIsClear) {
    const std::vector<Contender> contenders = {
        {10.0, 5.0, true},    {20.0, 9.0, false},   {30.0, 30.0, false}, {40.0, 12.0, false},
        {3700.0, 1.0, false}, {3800.0, 2.0, false}, {50.0, 12.0, false},
    };
    std::vector<Notice> notices;
    const std::vector<char> taken = take_strongest(contenders, 2, "places", notices);
    EXPECT_EQ(taken, (std::vector<char>{1, 0, 1, 1, 1, 1, 0}));
    ASSERT_EQ(notices.size(), 1U);
    EXPECT_EQ(notices[0].text, "places: the strongest 2 of 4 under 0.5 from 0 s to 3600 s");
    EXPECT_FALSE(notices[0].degraded);
}

TEST(Strongest, SilentFloorComesFirstAndEnoughBudgetTellsNothing) {
    const std::vector<Contender> contenders = {{1.0, 40.0, false}, {2.0, infinite, false}};
    std::vector<Notice> notices;
    EXPECT_EQ(take_strongest(contenders, 1, "places", notices), (std::vector<char>{0, 1}));
    EXPECT_EQ(notices.size(), 1U);
    notices.clear();
    EXPECT_EQ(take_strongest(contenders, 2, "places", notices), (std::vector<char>{1, 1}));
    EXPECT_TRUE(notices.empty());
}

TEST(Strongest, ALoneBlowIsASourceWhateverItsConfidence) {
    std::vector<Notice> notices;
    const std::vector<Source> sources = sources_of(
        std::vector<PlaceableEvent>{
            {1, 5.0, std::nullopt, 0.45, 30.0}, {2, 9.0, 1, 0.2, 8.0}, {3, 9.6, 1, 0.2, 9.0}},
        notices);
    ASSERT_EQ(sources.size(), 2U);
    EXPECT_EQ(sources[0].name, "1");
    EXPECT_EQ(sources[1].name, "series 1");
    EXPECT_EQ(sources[1].events.size(), 2U);
}

} // namespace
} // namespace lull
