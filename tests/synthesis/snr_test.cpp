// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/snr.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <cmath>
#include <fstream>
#include <numbers>

namespace lull {
namespace {

TEST(Snr, PeakEnergyInTheBandAgreesWithSciPy) {
    std::ifstream file(std::string(LULL_TEST_DATA) + "/band_level.json");
    if (!file) GTEST_SKIP() << "no band_level.json: run scripts/reference/exercise_reference.py";
    const auto reference = nlohmann::json::parse(file);
    const double rate_hz = reference["rate_hz"];
    // SciPy's filter is causal and ours has no delay, so a 50 ms window cuts their decays slightly
    // differently.
    constexpr double tolerance_db = 0.2;
    for (const auto& each : reference["cases"]) {
        const double start_s = each["start_s"], hz = each["frequency_hz"],
                     decay_s = each["decay_s"];
        std::vector<float> knock(static_cast<std::size_t>(2.0 * rate_hz), 0.0F);
        for (std::size_t n = 0; n < knock.size(); ++n) {
            const double since_s = static_cast<double>(n) / rate_hz - start_s;
            if (since_s >= 0.0)
                knock[n] = static_cast<float>(std::exp(-6.9078 * since_s / decay_s) *
                                              std::sin(2.0 * std::numbers::pi * hz * since_s));
        }
        const auto banded = in_band(knock, rate_hz, default_band(rate_hz));
        EXPECT_NEAR(10.0 * std::log10(level_power(banded, rate_hz, LevelRule::peak_energy)),
                    each["peak_energy_db"].get<double>(), tolerance_db)
            << hz << " Hz";
    }
}

TEST(Snr, GainReachesTheLevelOrIsRefused) {
    std::vector<float> noise(4000), event(4000);
    for (std::size_t n = 0; n < noise.size(); ++n) {
        noise[n] = 0.01F * static_cast<float>(std::sin(1.3 * static_cast<double>(n * n % 977)));
        event[n] = n > 1500 && n < 2300 ? static_cast<float>(std::sin(0.4 * static_cast<double>(n)))
                                        : 0.0F;
    }
    for (const LevelRule rule : {LevelRule::peak_energy, LevelRule::louder_half}) {
        const double target = 5.0 * level_power(noise, 8000.0, rule);
        const auto gain = gain_for_level(noise, event, 8000.0, rule, target);
        ASSERT_TRUE(gain);
        std::vector<float> mix = noise;
        for (std::size_t n = 0; n < mix.size(); ++n)
            mix[n] += static_cast<float>(*gain) * event[n];
        EXPECT_NEAR(level_power(mix, 8000.0, rule) / target, 1.0, 1e-3);
        EXPECT_FALSE(gain_for_level(noise, event, 8000.0, rule, 0.1 * target));
    }
}

} // namespace
} // namespace lull
