// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/chance.hpp"

#include "conventions.hpp"
#include "detect/series.hpp"

#include <cmath>
#include <gtest/gtest.h>

namespace lull {
namespace {

constexpr double tolerance = 1e-9; ///< double sums of a handful of terms

Event impulse(double onset_s, double snr_db = 15.0) {
    Event event;
    event.kind = EventKind::tapping;
    event.onset_s = onset_s;
    Arrival arrival;
    arrival.snr_db = snr_db;
    arrival.peak_energy = 1e-6 * db_to_power(snr_db);
    arrival.shape.band_db = {20, 15, 8, 2};
    arrival.shape.centroid_hz = 300.0;
    arrival.shape.decay_s = 0.03;
    event.arrivals.push_back(arrival);
    return event;
}

Chance of(const std::vector<Event>& events, const std::vector<std::size_t>& taps) {
    std::vector<std::size_t> impulses(events.size());
    for (std::size_t i = 0; i < impulses.size(); ++i)
        impulses[i] = i;
    return chance_of(events, impulses, taps, taps, 0.05);
}

TEST(Chance, OfAGroupAloneIsThePoissonFormula) {
    const std::vector<Event> events{impulse(100.0), impulse(100.5), impulse(101.0)};
    const Chance chance = of(events, {0, 1, 2});
    const double rate = 0.5 / 61.0; // half an impulse in 30 s before, 1 s, 30 s after
    EXPECT_NEAR(chance.rate, rate, tolerance);
    const double companion = 1.0 - std::exp(-rate * 1.6); // within the longest interval learnt
    const double third = 1.0 - std::exp(-rate * 0.1);     // within 50 ms of its beat
    EXPECT_NEAR(chance.expected, std::log(60.0 * rate * companion * third), tolerance);
}

TEST(Chance, RisesWithImpulsesThatSoundTheSameAndNotWithWeakOnes) {
    std::vector<Event> alike, weak;
    for (int i = 0; i < 60; ++i) {
        alike.push_back(impulse(70.3 + i));
        weak.push_back(impulse(70.3 + i, 2.0));
        if (i == 29) {
            for (const double t : {100.0, 100.1, 100.2}) {
                alike.push_back(impulse(t));
                weak.push_back(impulse(t));
            }
        }
    }
    const Chance common = of(alike, {30, 31, 32});
    const Chance rare = of(weak, {30, 31, 32});
    EXPECT_NEAR(common.rate, 1.0, 0.3); // bursts count by their own seconds
    EXPECT_LT(rare.expected, common.expected - 3.0);
}

} // namespace
} // namespace lull
