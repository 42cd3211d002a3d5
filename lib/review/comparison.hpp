// SPDX-License-Identifier: GPL-3.0-or-later
//
// Events compared between channels: ranking, delays, clocks.
#pragma once

#include "compare/clocks.hpp"
#include "compare/delay.hpp"
#include "compare/ranking.hpp"
#include "review/analysis.hpp"

#include <span>
#include <vector>

namespace lull {

struct CompareWanted {
    bool ranking = false;
    bool delays = false;
};

struct Comparison {
    std::vector<RankRow> ranking;
    std::vector<DelayEstimate> delays;
    std::vector<ClockRow> clocks;
};

} // namespace lull
