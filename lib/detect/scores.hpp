// SPDX-License-Identifier: GPL-3.0-or-later
//
// Running scores: how far each moment stood out, whatever became of it.
#pragma once

#include "conventions.hpp"
#include "detect/unit_input.hpp"

#include <vector>

namespace lull {

inline constexpr double score_step_s = 0.1; ///< about

/// Of one channel, step by step on a raster counted from frame 0 of the time line.
struct ScoreTrack {
    Frame first = 0;            ///< where step 0 begins
    Frame hop = 1;              ///< frames a step
    std::vector<float> impulse; ///< largest log likelihood ratio against the floor and the moment
                                ///< before: what impulses are found by
    std::vector<float> lasting; ///< largest over 128 ms against the floor: what lasting sounds are
                                ///< found by
    std::vector<float> floor;   ///< noise floor, mean square in the analysis band
};

/// The scores of the steps that begin in [begin, end).
[[nodiscard]] ScoreTrack running_scores(const ChannelTracks& tracks, double rate_hz, Frame begin,
                                        Frame end);

/// Joins the scores of the next unit to what came before it.
void append(ScoreTrack& whole, const ScoreTrack& next);

} // namespace lull
