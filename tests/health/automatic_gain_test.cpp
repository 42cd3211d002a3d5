// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/automatic_gain.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double rate_hz = 4000.0;
constexpr std::size_t hops_in_cell = 10; // hops of 5 ms in a cell of 50 ms
constexpr std::size_t sound = 30;        // cell of the loud sound
constexpr std::size_t cells = 60;

/// A background of power 1, one cell of sound, then a background 6 dB lower.
std::vector<float> cell_powers(float loud) {
    std::vector<float> power(cells, 1.0F);
    power[sound] = loud;
    std::fill(power.begin() + sound + 1, power.end(), 0.25F);
    return power;
}

std::vector<GainDip> dips_of(const std::vector<float>& powers) {
    LevelTrack level;
    level.hop = 20;
    for (const float power : powers)
        level.power.insert(level.power.end(), hops_in_cell, power);
    ChannelHealth health;
    note_gain_dips(level, rate_hz, 0, static_cast<Frame>(level.power.size()) * level.hop, health);
    return health.dips;
}

// 14 dB over the background is loud, whichever cell before it happens to be 3 dB higher.
TEST(AutomaticGain, DipIsFoundWhicheverCellBeforeItIsHigher) {
    for (std::size_t before = 3; before <= 12; ++before) {
        std::vector<float> power = cell_powers(25.0F);
        power[sound - before] = 2.0F;
        const std::vector<GainDip> dips = dips_of(power);
        ASSERT_EQ(dips.size(), 1U) << before << " cells before";
        EXPECT_NEAR(dips[0].db, 10.0 * std::log10(4.0), 1e-3);
    }
}

TEST(AutomaticGain, WeakerSoundsHaveNoDip) {
    EXPECT_TRUE(dips_of(cell_powers(19.0F)).empty()); // 13 dB is a power of 20
}

} // namespace
} // namespace lull
