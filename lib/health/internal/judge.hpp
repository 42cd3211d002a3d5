// SPDX-License-Identifier: GPL-3.0-or-later
//
// One function for each kind of fault. findings() calls them in this order.
#pragma once

#include "health/health.hpp"

#include <vector>

namespace lull {

inline constexpr double silent_db = -200.0; ///< digital silence

/// Levels of a channel's steps [dB re full scale], referred to the gain at the start; NaN where
/// nothing was measured.
using StepLevels = std::vector<double>;
[[nodiscard]] StepLevels step_levels(const ChannelHealth& health, const ScaleChanges& changes);

/// The p-quantile of the values that are not NaN; silent_db without any.
[[nodiscard]] double quantile_or_silent(std::vector<double> values, double p);

/// Stretches that are reported as one finding.
struct Group {
    Frame first = 0, end = 0, frames = 0;
    std::int64_t stretches = 0;
    Frame longest = 0; ///< of the listed ones
};
/// Groups stretches that are less than a minute apart.
[[nodiscard]] std::vector<Group> grouped(const StretchList& list, double rate_hz);

struct Judged {
    int channel = 0;
    const ChannelHealth& health;
    double rate_hz;
    std::span<const ChannelHealth> all; ///< all channels of the recording, for comparison
    std::span<const StepLevels> levels; ///< of all channels
    ChannelFacts facts;

    [[nodiscard]] double seconds(Frame frame) const { return static_cast<double>(frame) / rate_hz; }
    [[nodiscard]] double from_s() const { return seconds(health.first); }
    [[nodiscard]] double to_s() const; ///< end of the last measured step
    /// Time at which a step begins. The first step begins with the measurement.
    [[nodiscard]] double step_s(std::size_t step) const;
    /// A finding over the whole time of the channel, to be completed.
    [[nodiscard]] Finding finding(const char* name) const;
};

void judge_death(const Judged& judged, std::vector<Finding>& findings);
void judge_clipping(const Judged& judged, std::vector<Finding>& findings);
void judge_dropouts(const Judged& judged, std::vector<Finding>& findings);
void judge_jumps(const Judged& judged, std::vector<Finding>& findings);
void judge_offset(const Judged& judged, std::vector<Finding>& findings);
void judge_hum(const Judged& judged, std::vector<Finding>& findings);
void judge_wind(const Judged& judged, std::vector<Finding>& findings);
void judge_automatic_gain(const Judged& judged, std::vector<Finding>& findings);
void judge_spectrum(const Judged& judged, std::vector<Finding>& findings);

} // namespace lull
