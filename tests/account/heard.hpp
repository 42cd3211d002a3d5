// SPDX-License-Identifier: GPL-3.0-or-later
//
// Events made up for the tests of finds, and a recording of three channels to hear them on.
#pragma once

#include "account/account.hpp"

#include <memory>
#include <optional>
#include <utility>
#include <vector>

namespace lull::test {

class ThreeChannels : public Recording {
  public:
    ThreeChannels() {
        rate_hz = 8000.0;
        frames = 9000LL * 8000;
        for (const char* name : {"stairwell", "north-slab", "void"}) {
            Channel channel;
            channel.name = name;
            channels.push_back(channel);
        }
    }
    [[nodiscard]] std::unique_ptr<Stream> open() const override { return nullptr; }
};

inline Event heard_event(int number, EventKind kind, double onset_s, double confidence,
                         double snr_db, int channel, std::optional<int> series = {}) {
    Event one;
    one.number = number;
    one.kind = kind;
    one.onset_s = onset_s;
    one.end_s = onset_s + 0.1;
    one.strongest = channel;
    one.confidence = confidence;
    one.series = series;
    Arrival arrival;
    arrival.channel = channel;
    arrival.onset_s = onset_s;
    arrival.snr_db = snr_db;
    one.arrivals.push_back(arrival);
    return one;
}

} // namespace lull::test
