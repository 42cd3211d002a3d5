// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which waveforms are looked at when there are more candidates than can be.
#include "detect/internal/looks.hpp"
#include "detect/internal/rarity.hpp"

#include <algorithm>
#include <gtest/gtest.h>
#include <vector>

namespace lull {
namespace {

constexpr double rate_hz = 1000.0;

/// Looks of 400 ms each second, 100 ms of them at least.
std::vector<Look> every_second(int count) {
    std::vector<Look> looks;
    for (int i = 0; i < count; ++i)
        looks.push_back(
            {1000 * i, 1000 * i + 400, 1.0 + i, static_cast<std::size_t>(i), 1000 * i + 100});
    return looks;
}

TEST(Looks, AreWholeWhereAllFit) {
    const std::vector<LookGroup> groups = plan_looks(every_second(5), 2000, 4000, rate_hz);
    ASSERT_EQ(groups.size(), 5U);
    for (const LookGroup& group : groups)
        EXPECT_EQ(group.to - group.from, 400);
}

TEST(Looks, AreShortWhereNotAllFitAndThenAllMay) {
    const std::vector<LookGroup> groups = plan_looks(every_second(5), 1999, 4000, rate_hz);
    ASSERT_EQ(groups.size(), 5U);
    for (const LookGroup& group : groups)
        EXPECT_EQ(group.to - group.from, 100);
}

TEST(Looks, TheHighestAreGrantedWithinTheBound) {
    // Eight of 100 ms, room for three: the last three score highest.
    const std::vector<LookGroup> groups = plan_looks(every_second(8), 300, 4000, rate_hz);
    ASSERT_EQ(groups.size(), 3U);
    EXPECT_EQ(groups.front().from, 5000);
}

Arrival impulse(double onset_s, std::vector<float> band_db, double score, double power) {
    Arrival arrival;
    arrival.onset_s = onset_s;
    arrival.peak_energy = power;
    arrival.shape.score = score;
    arrival.shape.band_db = std::move(band_db);
    return arrival;
}

TEST(Rarity, AKnockIsRarerThanTheLouderTicksAroundIt) {
    std::vector<Arrival> impulses;
    for (int i = 0; i < 40; ++i) {
        impulses.push_back(impulse(0.5 * i, {0, 2, 10, 25}, 500.0, 1e-3));
        if (i == 20) impulses.push_back(impulse(0.5 * i + 0.2, {15, 12, 3, 0}, 40.0, 1e-4));
    }
    const std::vector<double> rare = rarity(impulses);
    EXPECT_EQ(std::ranges::max_element(rare) - rare.begin(), 21);
}

TEST(Rarity, OfStrangersTheClearestIsRarest) {
    const std::vector<double> rare = rarity(std::vector{impulse(1.0, {20, 0, 0, 0}, 30.0, 1e-4),
                                                        impulse(2.0, {0, 20, 0, 0}, 90.0, 1e-4),
                                                        impulse(3.0, {0, 0, 0, 20}, 60.0, 1e-4)});
    EXPECT_GT(rare[1], rare[2]);
    EXPECT_GT(rare[2], rare[0]);
}

} // namespace
} // namespace lull
