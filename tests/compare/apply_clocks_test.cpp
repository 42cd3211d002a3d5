// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/apply_clocks.hpp"

#include <cmath>
#include <gtest/gtest.h>

namespace lull {
namespace {

class TwoRecorders : public Recording {
  public:
    TwoRecorders() {
        for (const int number : {1, 1, 2}) {
            Channel channel;
            channel.name = "c" + std::to_string(channels.size());
            channel.recording = number;
            channels.push_back(channel);
        }
        session.recordings.resize(2);
        session.channels = channels;
    }
    [[nodiscard]] std::unique_ptr<Stream> open() const override { return nullptr; }
};

std::vector<DelayEstimate> two_delays() {
    DelayEstimate same, other;
    same.event = other.event = 4;
    same.channel_a = other.channel_a = 0;
    same.channel_b = 1, other.channel_b = 2;
    same.delay_s = other.delay_s = 0.003;
    same.sigma_s = other.sigma_s = 3e-5;
    same.usable = other.usable = true;
    return {same, other};
}

const std::vector<EventSpan> events{{4, 1000.0, 1000.1, {0, 1, 2}}};

TEST(ApplyClocks, OffsetDriftAndResidual) {
    const TwoRecorders recording;
    auto delays = two_delays();
    const std::vector<ClockRow> clocks{{1, 0.001, 1.0, 3e-5, "4 clock checks"},
                                       {2, 0.004, -2.0, 4e-5, "4 clock checks"}};
    apply_clocks(delays, events, recording, clocks);
    EXPECT_NEAR(delays[0].delay_s, 0.003, 1e-12); // one recorder, one clock
    EXPECT_NEAR(delays[0].sigma_s, 3e-5, 1e-12);
    // (0.004 - 2e-6*1000) - (0.001 + 1e-6*1000) = 0
    EXPECT_NEAR(delays[1].delay_s, 0.003, 1e-12);
    EXPECT_NEAR(delays[1].sigma_s, std::sqrt(9.0 + 9.0 + 16.0) * 1e-5, 1e-12);
    EXPECT_TRUE(delays[1].usable);
}

/// Numbers of a table that somebody sorted otherwise.
TEST(ApplyClocks, FindsEachEventsTimeInAnyOrder) {
    const TwoRecorders recording;
    constexpr int many = 20000;
    std::vector<EventSpan> spans;
    std::vector<DelayEstimate> delays;
    for (int i = 0; i < many; ++i) {
        const int number = i * 7919 % many; // a prime: each once
        spans.push_back({number, number * 0.01, number * 0.01, {}});
        delays.push_back(two_delays()[1]);
        delays.back().event = i;
        delays.back().delay_s = 0.0;
    }
    const std::vector<ClockRow> clocks{{1, 0.0, 0.0, 1e-5, "session"},
                                       {2, 0.0, 1.0, 1e-5, "4 clock checks"}};
    apply_clocks(delays, spans, recording, clocks);
    for (int i = 0; i < many; ++i)
        ASSERT_NEAR(delays[static_cast<std::size_t>(i)].delay_s, 1e-6 * 0.01 * i, 1e-15) << i;
}

TEST(ApplyClocks, NotTiedIsNotUsable) {
    const TwoRecorders recording;
    auto delays = two_delays();
    std::vector<ClockRow> clocks{{1, 0.0, 0.0, 1e-5, "4 clock checks"},
                                 {2, {}, {}, {}, "not tied"}};
    apply_clocks(delays, events, recording, clocks);
    EXPECT_TRUE(delays[0].usable);
    EXPECT_FALSE(delays[1].usable);
    EXPECT_NE(delays[1].reason.find("not tied"), std::string::npos);
    delays = two_delays();
    clocks[1] = {2, 0.25, {}, {}, "1 clock check"};
    apply_clocks(delays, events, recording, clocks);
    EXPECT_FALSE(delays[1].usable);
    EXPECT_NE(delays[1].reason.find("three clock checks"), std::string::npos);
}

} // namespace
} // namespace lull
