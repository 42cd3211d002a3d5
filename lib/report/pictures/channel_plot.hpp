// SPDX-License-Identifier: GPL-3.0-or-later
//
// The channels over time: where something was wrong with each, and how much it matters.
#pragma once

#include <string>
#include <vector>

namespace lull {

struct FaultMark {
    std::string name; ///< "clipping"
    double from_s = 0.0, to_s = 0.0;
    int severity = 0; ///< 0 to be known, 1 doubtful, 2 unfit
};

struct ChannelFaults {
    std::string name, fitness;
    std::vector<FaultMark> faults;
};

/// One strip a channel, a row in it for each kind of finding: a thin line is to be known, a hatched
/// bar makes doubtful, a hatched bar with a thick frame unfit.
[[nodiscard]] std::string channel_plot_svg(const std::vector<ChannelFaults>& channels,
                                           double from_s, double to_s);

} // namespace lull
