// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/pitch.hpp"
#include "detect/internal/sustained.hpp"

#include "sounds.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

TEST(Pitch, OfHarmonicSoundsFromMurmurToScream) {
    for (const double f : {80.0, 110.0, 165.0, 240.0, 380.0, 600.0, 900.0}) {
        const PitchMeasures found = measure_pitch(test::sung(f, 1.0, 0.0, 0.0), {}, test::rate_hz);
        EXPECT_NEAR(found.fundamental_hz, f, 0.02 * f); // a third of a semitone
        EXPECT_GT(found.harmonicity, 0.9) << f;
        EXPECT_GT(found.voiced_share, 0.95) << f;
        EXPECT_LT(found.spread, 0.5) << f;
    }
}

TEST(Pitch, OfAGlide) {
    const PitchMeasures found = measure_pitch(test::sung(200.0, 2.0, 4.0), {}, test::rate_hz);
    EXPECT_GT(found.spread, 3.0);
    EXPECT_GT(found.voiced_share, 0.9);
}

TEST(Pitch, AtEveryRate) {
    for (const double rate : {4000.0, 8000.0, 11025.0, 44100.0, 96000.0}) {
        std::vector<float> x(static_cast<std::size_t>(rate));
        for (std::size_t i = 0; i < x.size(); ++i)
            for (int k = 1; k <= 5; ++k)
                x[i] += static_cast<float>(
                    std::sin(2.0 * std::numbers::pi * 150.0 * k * static_cast<double>(i) / rate) /
                    k);
        EXPECT_NEAR(measure_pitch(x, {}, rate).fundamental_hz, 150.0, 3.0) << rate;
    }
}

TEST(Pitch, WhiteNoiseHasNone) {
    const PitchMeasures found = measure_pitch(test::white(61, 3.0, 0.1), {}, test::rate_hz);
    EXPECT_LT(found.voiced_share, 0.05) << "seed 61";
}

TEST(Pitch, AHumThatWasThereBeforeIsNotTheSound) {
    // 100 Hz hum throughout; the sound is a voice at 230 Hz, as strong as the hum.
    const std::vector<float> hum = test::sung(100.0, 3.0, 0.0, 0.0);
    std::vector<float> x = hum;
    test::add(x, test::sung(230.0, 2.0, 0.0, 0.0), 1.0, 1.0);
    const std::span<const float> all(x);
    const PitchMeasures found = measure_pitch(all.subspan(16000), all.first(16000), test::rate_hz);
    EXPECT_NEAR(found.fundamental_hz, 230.0, 5.0);
}

TEST(Pitch, NothingToMeasure) {
    EXPECT_EQ(measure_pitch({}, {}, test::rate_hz).frames, 0);
    const std::vector<float> silence(16000, 0.0F);
    EXPECT_EQ(measure_pitch(silence, {}, test::rate_hz).frames, 0);
}

TEST(Syllables, ShareOfAKnownModulation) {
    const double rate = 125.0;
    std::vector<float> at4(500), at12(500);
    for (std::size_t i = 0; i < at4.size(); ++i) {
        const double t = static_cast<double>(i) / rate;
        at4[i] = static_cast<float>(1.0 + std::cos(2.0 * std::numbers::pi * 4.0 * t));
        at12[i] = static_cast<float>(1.0 + std::cos(2.0 * std::numbers::pi * 12.0 * t));
    }
    SyllabicMeter meter;
    EXPECT_GT(meter.share(at4, rate), 0.95);
    EXPECT_LT(meter.share(at12, rate), 0.05);
    EXPECT_EQ(meter.share(std::span<const float>(at4).first(20), rate), 0.0);
}

} // namespace
} // namespace lull
