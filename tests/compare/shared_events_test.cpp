// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/shared_events.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace lull {
namespace {

class TwoRecorders : public Recording {
  public:
    explicit TwoRecorders(double apart_m) {
        for (const int number : {1, 2}) {
            Channel channel;
            channel.name = "c" + std::to_string(number);
            channel.kind = ChannelKind::seismic;
            channel.recording = number;
            channel.position_m = Position{apart_m * (number - 1), 0.0, 0.0};
            channel.position_sigma_m = 0.0;
            channels.push_back(channel);
        }
        session.recordings.resize(2);
        session.channels = channels;
    }
    [[nodiscard]] std::unique_ptr<Stream> open() const override { return nullptr; }
};

constexpr double lowest_m_s = 300.0; ///< of a session that states nothing

/// Knocks that both hear, some that one alone hears; the second recorder's clock is wrong.
std::vector<EventSpan> heard_by_both(double offset_s, double drift, int shared, int alone,
                                     std::mt19937_64& random) {
    std::uniform_real_distribution<double> when(10.0, 1800.0);
    std::normal_distribution<double> pick(0.0, 0.003);
    std::vector<EventSpan> events;
    const auto add = [&](double onset_s, int channel) {
        events.push_back({0, onset_s, onset_s + 0.1, {channel}});
    };
    for (int n = 0; n < shared; ++n) {
        const double t = when(random);
        add(t + pick(random), 0);
        add((t + pick(random) - offset_s) / (1.0 + drift), 1);
    }
    for (int n = 0; n < alone; ++n)
        add(when(random), n % 2);
    std::ranges::sort(events, {}, &EventSpan::onset_s);
    for (std::size_t i = 0; i < events.size(); ++i)
        events[i].event = static_cast<int>(i) + 1;
    return events;
}

TEST(SharedEvents, OffsetAndDriftFromOnsets) {
    const TwoRecorders recording(6.0);
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
        std::mt19937_64 random(seed);
        const double offset_s = 4.0 * static_cast<double>(seed) - 17.3, drift = 30e-6;
        const auto events = heard_by_both(offset_s, drift, 25, 40, random);
        std::vector<ClockRow> clocks{{1, {}, {}, {}, "not tied"}, {2, {}, {}, {}, "not tied"}};
        tie_by_shared_events(clocks, events, {}, recording);
        ASSERT_TRUE(clocks[1].offset_s) << "seed " << seed;
        EXPECT_EQ(clocks[0].from, "reference");
        // Recorder time + offset = reference time, at the middle of the recording.
        const double t = 900.0;
        const double found = *clocks[1].offset_s + 1e-6 * *clocks[1].drift_ppm * t;
        // Picks scatter by 3 ms on each side; of 25: 0.9 ms, and four of that.
        EXPECT_NEAR(found, offset_s + drift * t, 0.0035) << "seed " << seed;
        EXPECT_NEAR(*clocks[1].drift_ppm, 30.0, 8.0) << "seed " << seed;
        // The way between the recorders is unknown: the residual holds it.
        EXPECT_GT(*clocks[1].sigma_s, 6.0 / lowest_m_s / std::sqrt(3.0)) << "seed " << seed;
        EXPECT_LT(*clocks[1].sigma_s, 1.5 * 6.0 / lowest_m_s) << "seed " << seed;
    }
}

TEST(SharedEvents, ChanceTiesNothing) {
    const TwoRecorders recording(6.0);
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        std::mt19937_64 random(seed);
        const auto events = heard_by_both(0.0, 0.0, 0, 80, random);
        std::vector<ClockRow> clocks{{1, {}, {}, {}, "not tied"}, {2, {}, {}, {}, "not tied"}};
        tie_by_shared_events(clocks, events, {}, recording);
        EXPECT_EQ(clocks[1].from, "not tied") << "seed " << seed;
        EXPECT_FALSE(clocks[0].offset_s) << "seed " << seed;
    }
}

TEST(SharedEvents, AStrictRhythmTiesNothing) {
    const TwoRecorders recording(6.0);
    std::vector<EventSpan> events;
    for (int n = 0; n < 40; ++n) // a drip: it fits itself at every second
        for (const int channel : {0, 1})
            events.push_back({2 * n + channel + 1, 5.0 + n + 0.4 * channel, 5.1 + n, {channel}});
    std::vector<ClockRow> clocks{{1, {}, {}, {}, "not tied"}, {2, {}, {}, {}, "not tied"}};
    tie_by_shared_events(clocks, events, {}, recording);
    EXPECT_EQ(clocks[1].from, "not tied");
}

TEST(SharedEvents, DelaysOfOneEventTellAndOutliersDoNot) {
    const TwoRecorders recording(6.0);
    std::vector<EventSpan> events;
    std::vector<DelayEstimate> delays;
    for (int n = 0; n < 12; ++n) {
        const double t = 100.0 * n;
        events.push_back({n + 1, t, t + 0.1, {0, 1}});
        DelayEstimate delay;
        delay.event = n + 1;
        delay.channel_a = 0, delay.channel_b = 1;
        delay.delay_s = n == 5 ? 0.015 : 0.004 - 10e-6 * t + 1e-4 * (n % 3 - 1);
        delay.sigma_s = 1e-5;
        delay.usable = true;
        delays.push_back(delay);
    }
    std::vector<ClockRow> clocks{{1, 0.5, 2.0, 1e-4, "4 clock checks"},
                                 {2, {}, {}, {}, "not tied"}};
    tie_by_shared_events(clocks, events, delays, recording);
    EXPECT_EQ(clocks[0].from, "4 clock checks");
    EXPECT_EQ(clocks[1].from, "11 shared events");
    EXPECT_NEAR(*clocks[1].offset_s, 0.5 - 0.004, 2e-4);
    EXPECT_NEAR(*clocks[1].drift_ppm, 2.0 + 10.0, 0.3);
}

} // namespace
} // namespace lull
