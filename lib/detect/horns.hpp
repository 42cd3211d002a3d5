// SPDX-License-Identifier: GPL-3.0-or-later
//
// Signals by horn or whistle: blasts that follow each other in a pattern.
#pragma once

#include "detect/event.hpp"

#include <span>
#include <string>
#include <vector>

namespace lull {

struct BlastLength {
    double least_s = 0.0, most_s = 0.0;
};

/// A pattern of blasts and what it orders under the local rules.
struct HornPattern {
    std::string meaning;
    std::vector<BlastLength> blasts;
};

/// The table used where none is given: one long blast stops work and orders quiet, three short ones
/// order everyone out, a long and a short one resume work (from memory: international search and
/// rescue guidelines and incident command practice; rules differ locally).
[[nodiscard]] std::span<const HornPattern> usual_horn_patterns();

inline constexpr double longest_blast_gap_s = 2.5; ///< between blasts of one signal

/// Says in the `why` of each horn of confidence `sure` or more which pattern its blasts make: how
/// many, how long, and what that orders when the table has it.
/// \param events in order of onset; changed in place
void name_horn_signals(std::vector<Event>& events, std::span<const HornPattern> patterns,
                       double sure = 0.3);

} // namespace lull
