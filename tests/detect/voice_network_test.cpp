// SPDX-License-Identifier: GPL-3.0-or-later
//
// Against NumPy and PyTorch: tests/detect/data/voice_odds.json, by scripts/reference/voice_odds.py.
#include "detect/internal/voice_network.hpp"

#include "detect/internal/log_bands.hpp"

#include <cmath>
#include <cstdint>
#include <fstream>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <numbers>
#include <vector>

namespace lull {
namespace {

constexpr std::size_t frame_count = 250;

/// The same two channels as the script makes.
std::vector<std::vector<float>> made_sounds() {
    constexpr std::size_t size = frame_count * log_band_hop;
    std::vector<std::vector<float>> sounds(2, std::vector<float>(size));
    std::uint64_t state = 1;
    for (std::size_t i = 0; i < 2 * size; ++i) {
        state = state * 6364136223846793005U + 1442695040888963407U;
        const double value = static_cast<double>(state >> 40U) / 16777216.0 - 0.5;
        const std::size_t at = i % size;
        const double t = static_cast<double>(at) / log_band_rate_hz;
        double call = 0.0;
        if (i < size && t > 1.5 && t < 2.6)
            for (int k = 1; k <= 8; ++k)
                call += std::sin(2.0 * std::numbers::pi * k * (220.0 * t + 12.0 * t * t)) / k;
        sounds[i / size][at] = static_cast<float>(0.02 * value + 0.05 * call);
    }
    return sounds;
}

struct Case {
    std::vector<std::vector<float>> bands;
    nlohmann::json expected;
};

Case reference() {
    Case made;
    for (const std::vector<float>& sound : made_sounds())
        made.bands.push_back(log_bands(sound));
    std::ifstream file(LULL_TEST_DATA "/voice_odds.json");
    file >> made.expected;
    return made;
}

TEST(VoiceNetwork, LogBandsAreThoseOfNumPy) {
    const Case made = reference();
    const auto frames = made.expected["frames"].get<std::vector<std::size_t>>();
    for (std::size_t c = 0; c < 2; ++c) {
        ASSERT_EQ(made.bands[c].size(), frame_count * log_band_count);
        for (std::size_t k = 0; k < frames.size(); ++k)
            for (std::size_t b = 0; b < log_band_count; ++b)
                EXPECT_NEAR(made.bands[c][frames[k] * log_band_count + b],
                            made.expected["bands"][c * frames.size() + k][b].get<float>(), 2e-3)
                    << "channel " << c << ", frame " << frames[k] << ", band " << b;
    }
}

TEST(VoiceNetwork, OddsAreThoseOfPyTorch) {
    const Case made = reference();
    const VoiceOdds odds =
        voice_odds(made.bands, std::vector<ChannelKind>{ChannelKind::seismic, ChannelKind::air});
    const auto frames = made.expected["frames"].get<std::vector<std::size_t>>();
    for (std::size_t k = 0; k < frames.size(); ++k) {
        EXPECT_NEAR(odds.all[frames[k]], made.expected["all"][k].get<float>(), 0.02);
        for (std::size_t c = 0; c < 2; ++c)
            EXPECT_NEAR(odds.own[c][frames[k]], made.expected["own"][c][k].get<float>(), 0.02);
    }
}

} // namespace
} // namespace lull
