// SPDX-License-Identifier: GPL-3.0-or-later
//
// Findings of the channels over time, with their severity.
#pragma once

#include <string>
#include <vector>

namespace lull {

struct FaultMark {
    std::string name; ///< "clipping"
    double from_s = 0.0, to_s = 0.0;
    int severity = 0; ///< 0: for information, 1: doubtful, 2: unfit
};

struct ChannelFaults {
    std::string name, fitness;
    std::vector<FaultMark> faults;
};

/// One strip a channel, with a row for each kind of finding. A thin line is for information, a
/// hatched bar makes doubtful, a hatched bar with a thick frame makes unfit.
[[nodiscard]] std::string channel_plot_svg(const std::vector<ChannelFaults>& channels,
                                           double from_s, double to_s);

} // namespace lull
