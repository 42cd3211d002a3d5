// SPDX-License-Identifier: GPL-3.0-or-later
//
// Where a horn may have sounded: what begins at once, holds its level and ends at once.
#pragma once

#include "detect/internal/candidates.hpp"
#include "detect/unit_input.hpp"

#include <vector>

namespace lull {

inline constexpr double shortest_blast_s = 0.4, longest_blast_s = 12.0;

/// Stretches in which some band rises by 8 dB within a tenth of a second, stays within 5 dB of one
/// level and falls again: set against what was there just before, not against the floor, so that a
/// horn over a running machine is found, which a stretch over the floor swallows. In time order; a
/// second one that begins and ends with another is left out.
[[nodiscard]] std::vector<LastingStretch> find_blasts(const SpectrumTrack& spectrum);

} // namespace lull
