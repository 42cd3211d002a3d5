// SPDX-License-Identifier: GPL-3.0-or-later
//
// One judgement a kind of fault; findings() runs them in this order.
#pragma once

#include "health/health.hpp"

#include <vector>

namespace lull {

struct Judged {
    int channel = 0;
    const ChannelHealth& health;
    double rate_hz;
    std::span<const ChannelHealth> all; ///< every channel of the recording, for comparison

    [[nodiscard]] double seconds(Frame frame) const { return static_cast<double>(frame) / rate_hz; }
    [[nodiscard]] double from_s() const { return seconds(health.first); }
    [[nodiscard]] double to_s() const; ///< end of the last measured step
    /// Time where a step begins; the first begins with the measurement.
    [[nodiscard]] double step_s(std::size_t step) const;
};

void judge_death(const Judged& judged, std::vector<Finding>& findings);
void judge_clipping(const Judged& judged, std::vector<Finding>& findings);
void judge_dropouts(const Judged& judged, std::vector<Finding>& findings);
void judge_offset(const Judged& judged, std::vector<Finding>& findings);
void judge_hum(const Judged& judged, std::vector<Finding>& findings);

} // namespace lull
