// SPDX-License-Identifier: GPL-3.0-or-later
//
// What agreed with a place and what did not, in words.
#pragma once

#include "locate/posterior.hpp"

#include <span>
#include <string>
#include <vector>

namespace lull {

/// Arrivals and levels at the most probable place, delays that contradict the others, the speeds
/// that are likely. "; " between its parts.
[[nodiscard]] std::string agreement(const std::vector<Listening>& listenings,
                                    const PlaceLikelihood& likelihood, const Medium& medium,
                                    const std::vector<Patch>& patches,
                                    std::span<const std::string> names);

/// What levels say where there is no delay: which is strongest, and how far the array is from
/// reading alike all over.
[[nodiscard]] std::string levels_alone(const std::vector<Listening>& listenings,
                                       std::span<const std::string> names);

} // namespace lull
