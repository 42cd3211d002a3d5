// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/imprint.hpp"

#include "detect/internal/place_match.hpp"
#include "sounds.hpp"

#include <gtest/gtest.h>
#include <vector>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;
constexpr double noise_rms = 0.001;

/// A blow as one channel hears it: at `onset_s` of the time line, `late_s` more on this channel,
/// seen from `late_samples` after its onset.
Arrival of(const std::vector<double>& modes_hz, unsigned seed, double gain, double onset_s = 0.0,
           int late_samples = 0) {
    std::vector<float> x = test::white(seed, 0.3, noise_rms);
    test::add(x, test::knock(modes_hz, 0.02), 0.1, gain);
    Arrival arrival;
    arrival.onset_s = onset_s;
    arrival.shape.imprint =
        take_imprint(x, onset_s - 0.1, static_cast<std::size_t>(0.1 * rate_hz + late_samples),
                     rate_hz, noise_rms * noise_rms);
    arrival.shape.band_db.assign(11, 20.0F);
    return arrival;
}

Event on_one(Arrival arrival) {
    Event event;
    event.kind = EventKind::tapping;
    event.onset_s = arrival.onset_s;
    event.arrivals.push_back(std::move(arrival));
    return event;
}

/// Blows with a sound of their own, heard on four channels at delays that tell their place.
Event on_four(const std::vector<double>& modes_hz, unsigned seed, double onset_s,
              const std::vector<double>& delays_s) {
    Event event;
    event.kind = EventKind::tapping;
    event.onset_s = onset_s;
    for (int c = 0; c < 4; ++c) {
        const auto k = static_cast<std::size_t>(c);
        event.arrivals.push_back(
            of(modes_hz, seed * 10 + static_cast<unsigned>(c), 0.1, onset_s + delays_s[k]));
        event.arrivals.back().channel = c;
    }
    return event;
}

TEST(Imprint, OneBlowRepeatedIsKnownAgain) {
    const PlaceMatch same =
        match_places(on_one(of({300, 700}, 1, 0.1)), on_one(of({300, 700}, 2, 0.03, 5.0, 12)));
    EXPECT_GT(same.correlation, 0.9);
    EXPECT_GT(same.expected, 0.9);
    EXPECT_EQ(same.channels, 1);
    EXPECT_EQ(same.agreement, 0.0) << "one channel says nothing of the place";
}

TEST(Imprint, AnotherObjectIsNot) {
    EXPECT_LT(match_places(on_one(of({300, 700}, 1, 0.1)), on_one(of({410, 1130}, 2, 0.1, 3.0)))
                  .correlation,
              0.6);
}

TEST(Imprint, NoiseLowersWhatIsExpected) {
    const PlaceMatch clear =
        match_places(on_one(of({300, 700}, 1, 0.1)), on_one(of({300, 700}, 2, 0.1, 2.0)));
    const PlaceMatch faint =
        match_places(on_one(of({300, 700}, 1, 0.003)), on_one(of({300, 700}, 2, 0.003, 2.0)));
    EXPECT_LT(faint.expected, clear.expected);
    EXPECT_LT(faint.correlation, clear.correlation);
}

TEST(Imprint, NothingMatchesNothing) {
    EXPECT_EQ(match_places(on_one(Arrival()), on_one(of({300}, 1, 0.1))).channels, 0);
    EXPECT_TRUE(take_imprint(std::vector<float>(800, 0.0F), 0.0, 100, rate_hz, 0.0).bins.empty());
}

/// The source drops out, the place remains: other objects struck at one place agree in their phases
/// between channels as well as one object does, and one object at two places does not.
TEST(Imprint, PhasesBetweenChannelsTellThePlace) {
    const std::vector<double> here{0.0, 0.0021, 0.0047, 0.0013}, there{0.0016, 0.0, 0.0009, 0.0052};
    const Event blow = on_four({300, 700, 1200}, 1, 1.0, here);
    EXPECT_GT(match_places(blow, on_four({300, 700, 1200}, 2, 7.31, here)).agreement, 20.0);
    EXPECT_GT(match_places(blow, on_four({420, 910, 1500}, 3, 7.31, here)).agreement, 10.0);
    EXPECT_LT(match_places(blow, on_four({300, 700, 1200}, 4, 7.31, there)).agreement, 5.0);
}

} // namespace
} // namespace lull
