// SPDX-License-Identifier: GPL-3.0-or-later
//
// One judgement a kind of fault; findings() runs them in this order.
#pragma once

#include "health/health.hpp"

#include <vector>

namespace lull {

inline constexpr double silent_db = -200.0; ///< stands for digital silence

/// Levels of the steps of one channel [dB re full scale], as the gain at the start reads them; not
/// a number where nothing was measured.
using StepLevels = std::vector<double>;
[[nodiscard]] StepLevels step_levels(const ChannelHealth& health, const ScaleChanges& changes);

/// The p-quantile of the values that are numbers; silent_db without any.
[[nodiscard]] double quantile(std::vector<double> values, double p);

/// Stretches that are told in one finding.
struct Group {
    Frame first = 0, end = 0, frames = 0;
    std::int64_t stretches = 0;
    Frame longest = 0; ///< of those that are listed
};
/// Stretches nearer to each other than a minute, told together.
[[nodiscard]] std::vector<Group> grouped(const StretchList& list, double rate_hz);

struct Judged {
    int channel = 0;
    const ChannelHealth& health;
    double rate_hz;
    std::span<const ChannelHealth> all; ///< every channel of the recording, for comparison
    std::span<const StepLevels> levels; ///< likewise
    ChannelFacts facts;

    [[nodiscard]] double seconds(Frame frame) const { return static_cast<double>(frame) / rate_hz; }
    [[nodiscard]] double from_s() const { return seconds(health.first); }
    [[nodiscard]] double to_s() const; ///< end of the last measured step
    /// Time where a step begins; the first begins with the measurement.
    [[nodiscard]] double step_s(std::size_t step) const;
    /// A finding over the whole channel, to be filled in.
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
