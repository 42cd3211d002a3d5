// SPDX-License-Identifier: GPL-3.0-or-later
#include "conventions.hpp"
#include "detect/join.hpp"

#include <algorithm>
#include <gtest/gtest.h>
#include <limits>

namespace lull {
namespace {

Arrival tap(int channel, double onset_s, double snr_db = 15.0,
            std::vector<float> bands = {20, 10, 3, 0}) {
    Arrival arrival;
    arrival.channel = channel;
    arrival.onset_s = onset_s;
    arrival.onset_sigma_s = 0.001;
    arrival.end_s = onset_s + 0.05;
    arrival.snr_db = snr_db;
    arrival.peak_energy = 1e-6 * db_to_power(snr_db);
    arrival.kind = EventKind::tapping;
    arrival.confidence = 0.4;
    arrival.why = "rise 2 ms";
    arrival.shape.band_db = std::move(bands);
    return arrival;
}

Channel at(ChannelKind kind, Position position) {
    Channel channel;
    channel.kind = kind;
    channel.position_m = position;
    channel.position_sigma_m = 0.0;
    return channel;
}

std::vector<Channel> bare(std::size_t count) {
    return std::vector<Channel>(count);
}

TEST(Join, BoundIsDistanceOverLowestSpeed) {
    Propagation propagation;
    propagation.seismic_m_s = {300.0, 3000.0};
    propagation.air_temperature_c = 20.0;
    const Channel a = at(ChannelKind::seismic, {0, 0, 0});
    const Channel b = at(ChannelKind::seismic, {30, 40, 0});
    EXPECT_NEAR(largest_delay_s(a, b, propagation, 50.0), 50.0 / 300.0, 1e-9);
    const Channel c = at(ChannelKind::air, {0, 0, 0});
    const Channel d = at(ChannelKind::air, {0, 0, 10});
    // 343.2 m/s at 20 degrees (ISO 9613-1).
    EXPECT_NEAR(largest_delay_s(c, d, propagation, 50.0), 10.0 / 343.2, 1e-4);
    // Kinds apart: 50 m more at 300 m/s against 3000 m/s.
    EXPECT_NEAR(largest_delay_s(a, d, propagation, 50.0),
                10.0 / 300.0 + 50.0 / 300.0 - 50.0 / 3000.0, 1e-9);
    EXPECT_EQ(largest_delay_s(Channel{}, a, propagation, 50.0), join_window_s);
}

TEST(Join, OneEventOnChannelsWithinTheirBound) {
    const std::vector<Channel> channels{at(ChannelKind::seismic, {0, 0, 0}),
                                        at(ChannelKind::seismic, {9, 0, 0}),
                                        at(ChannelKind::seismic, {0, 9, 0})};
    // 9 m at 300 m/s: 30 ms. The second pair is 80 ms apart: two events.
    const std::vector<Event> events = join_events(
        {tap(0, 1.0), tap(1, 1.02), tap(2, 1.025), tap(0, 2.0), tap(1, 2.08)}, {}, channels);
    ASSERT_EQ(events.size(), 3U);
    EXPECT_EQ(events[0].arrivals.size(), 3U);
    EXPECT_EQ(events[1].arrivals.size(), 1U);
    EXPECT_EQ(events[2].onset_s, 2.08);
    EXPECT_EQ(events[2].number, 3);
}

TEST(Join, WithoutPositionsTheStatedWindow) {
    const auto count = [](double apart_s) {
        return join_events({tap(0, 1.0), tap(1, 1.0 + apart_s)}, {}, bare(2)).size();
    };
    EXPECT_EQ(count(join_window_s - 0.001), 1U);
    EXPECT_EQ(count(join_window_s + 0.02), 2U);
}

TEST(Join, DeafChannelAndStrongest) {
    const std::vector<Event> events =
        join_events({tap(0, 1.0, 8.0), tap(2, 1.01, 17.0)}, {}, bare(3));
    ASSERT_EQ(events.size(), 1U);
    EXPECT_EQ(events[0].strongest, 2);
    EXPECT_LT(events[0].confidence, 0.5); // impulses alone stay under one half
}

TEST(Join, TwoSourcesAtOnceAreKeptApartByTheirBands) {
    const std::vector<float> low{30, 25, 0, 0};
    const std::vector<float> high{0, 0, 25, 30};
    const std::vector<Event> events =
        join_events({tap(0, 1.0, 15, low), tap(1, 1.01, 15, high), tap(2, 1.02, 15, low),
                     tap(0, 1.04, 15, high), tap(1, 1.05, 15, low)},
                    {}, bare(3));
    ASSERT_EQ(events.size(), 2U);
    std::size_t all = 0;
    for (const Event& event : events) {
        all += event.arrivals.size();
        std::vector<int> seen;
        for (const Arrival& arrival : event.arrivals)
            seen.push_back(arrival.channel);
        EXPECT_EQ(std::adjacent_find(seen.begin(), seen.end()), seen.end());
    }
    EXPECT_EQ(all, 5U); // no arrival lost, none used twice
}

TEST(Join, TheSameImpulseFromTwoUnitsCountsOnce) {
    EXPECT_EQ(join_events({tap(0, 300.0), tap(0, 300.001)}, {}, bare(1)).size(), 1U);
}

TEST(Join, SensorsThatWereMovedHaveNewBounds) {
    Session session;
    std::vector<Channel> channels{at(ChannelKind::seismic, {0, 0, 0}),
                                  at(ChannelKind::seismic, {9, 0, 0})};
    channels[0].name = "north-slab";
    channels[1].name = "stairwell";
    Change change;
    change.from_s = 100.0;
    change.channel = "stairwell";
    change.position_m = Position{60, 0, 0};
    session.changes = {change};
    const std::vector<Event> events = join_events(
        {tap(0, 50.0), tap(1, 50.15), tap(0, 150.0), tap(1, 150.15)}, session, channels);
    EXPECT_EQ(events.size(), 3U); // 150 ms: too long for 9 m, not for 60 m
}

TEST(Join, NothingGivesNothing) {
    EXPECT_TRUE(join_events({}, {}, bare(2)).empty());
}

/// Over a digitally silent floor the SNR is infinite, and first in every order; there the louder
/// one is the stronger.
TEST(Join, AChannelOverASilentFloorIsTheStrongest) {
    constexpr double infinite = std::numeric_limits<double>::infinity();
    Arrival quiet = tap(1, 10.0, infinite), loud = tap(2, 10.001, infinite);
    quiet.peak_energy = 1e-6, loud.peak_energy = 1e-4;
    const std::vector<Channel> channels(3);
    const std::vector<Event> events =
        join_events({tap(0, 9.999, 250.0), quiet, loud}, Session(), channels);
    ASSERT_EQ(events.size(), 1U);
    EXPECT_EQ(events[0].strongest, 2);
    EXPECT_EQ(snr_of(events[0]), infinite);
    EXPECT_TRUE(stronger(quiet, tap(0, 10.0, 250.0)));
    EXPECT_FALSE(stronger(quiet, loud));
}

} // namespace
} // namespace lull
