// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which stretches of waveform are worth decoding, within a bounded share of the unit.
#pragma once

#include "conventions.hpp"

#include <vector>

namespace lull {

/// A wish to see the waveform of [from, to).
struct Look {
    Frame from = 0, to = 0;
    double score = 0.0;    ///< the larger, the sooner it is granted
    std::size_t owner = 0; ///< the wisher's own number
    Frame least_to = 0;    ///< where it ends when not all can be granted
};

/// Looks that one decoded stretch serves.
struct LookGroup {
    Frame from = 0, to = 0;
    std::vector<Look> looks; ///< by from
};

/// Grants looks by falling score while the union of what is granted stays within `most` frames;
/// where that of all does not, each is as short as it may be. Then joins those that overlap or
/// nearly touch into groups of at most `longest` frames (a single longer look stays whole).
[[nodiscard]] std::vector<LookGroup> plan_looks(std::vector<Look> looks, Frame most, Frame longest,
                                                double rate_hz);

} // namespace lull
