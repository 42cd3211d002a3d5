// SPDX-License-Identifier: GPL-3.0-or-later
//
// Ranks: how strongly each channel of one kind heard an event, as dots with intervals.
#pragma once

#include <string>
#include <vector>

namespace lull {

struct RankDot {
    std::string name;
    double level_db = 0.0;
    double sigma_db = 0.0; ///< half the interval; 0: unknown, no interval
};

/// One line a channel, the strongest at the top; the level axis with its unit at the bottom.
[[nodiscard]] std::string rank_plot_svg(const std::vector<RankDot>& dots, const std::string& title,
                                        const std::string& unit);

} // namespace lull
