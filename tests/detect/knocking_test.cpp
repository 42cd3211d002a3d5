// SPDX-License-Identifier: GPL-3.0-or-later
//
// Somebody who knocks on and on, slowly or not, heard on four sensors.
#include "listening.hpp"
#include "sounds.hpp"

#include <cmath>
#include <gtest/gtest.h>
#include <random>
#include <utility>

namespace lull {
namespace {

using test::Listening;
using test::rate_hz;

constexpr unsigned seed = 94;

struct Scene {
    test::Samples channels;
    std::vector<double> knocks;
};

/// Blows of one object on a beat that a hand keeps, each a little different.
Scene knocking(int count, double interval_s, double snr_db) {
    std::mt19937 generator(seed);
    std::normal_distribution<double> normal;
    Scene scene;
    double at = 14.0;
    for (int i = 0; i < count; ++i, at += interval_s * (1.0 + 0.05 * normal(generator)))
        scene.knocks.push_back(at);
    for (unsigned c = 0; c < 4; ++c)
        scene.channels.push_back(test::white(seed + c, at + 14.0, 0.01));
    const double level = 0.01 * test::white_in_band();
    for (const double onset_s : scene.knocks) {
        const std::vector<float> blow =
            test::knock({170.0, 310.0, 560.0}, 0.02 * (1.0 + 0.2 * normal(generator)));
        const double db = snr_db + 1.5 * normal(generator);
        for (std::size_t c = 0; c < scene.channels.size(); ++c) {
            const auto farther = static_cast<double>(c);
            test::add(scene.channels[c], blow, onset_s + 0.003 * farther,
                      level * db_to_amplitude(db - 2.5 * farther));
        }
    }
    return scene;
}

TEST(Knocking, IsHeardAtAnyLengthAndInterval) {
    // The need: whoever knocks is found, so that all runs must be, and most of their taps.
    constexpr double least_share = 0.75;
    for (const auto& [count, interval_s] : std::vector<std::pair<int, double>>{
             {5, 0.6}, {24, 0.6}, {24, 0.9}, {40, 0.5}, {8, 2.5}, {10, 4.0}}) {
        const Scene scene = knocking(count, interval_s, 15.0);
        Listening listening(scene.channels, rate_hz);
        const std::vector<Event> events = listening.events();
        int heard = 0;
        for (const double at : scene.knocks)
            for (const Event& event : events)
                if (std::abs(event.onset_s - at) < 0.02) {
                    EXPECT_EQ(event.kind, EventKind::tapping) << event.why;
                    heard += event.confidence >= 0.5 ? 1 : 0;
                }
        EXPECT_GE(heard, least_share * count)
            << count << " at " << interval_s << " s, seed " << seed;
    }
}

TEST(Knocking, AHammerFarOffIsHeard) {
    for (const double snr_db : {25.0, 40.0}) {
        const Scene scene = knocking(8, 5.0, snr_db);
        Listening listening(scene.channels, rate_hz);
        int heard = 0;
        for (const Event& event : listening.events())
            heard += event.kind == EventKind::tapping && event.confidence >= 0.5 ? 1 : 0;
        EXPECT_GE(heard, 6) << snr_db << " dB, seed " << seed;
    }
}

} // namespace
} // namespace lull
