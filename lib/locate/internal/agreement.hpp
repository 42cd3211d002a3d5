// SPDX-License-Identifier: GPL-3.0-or-later
//
// Text on what agrees with a place and what does not.
#pragma once

#include "locate/posterior.hpp"

#include <span>
#include <string>
#include <vector>

namespace lull {

/// Arrivals and levels at the most probable place, delays that contradict the others, and likely
/// speeds, separated by "; ".
[[nodiscard]] std::string agreement(const std::vector<Listening>& listenings,
                                    const PlaceLikelihood& likelihood, const Medium& medium,
                                    const std::vector<Patch>& patches,
                                    std::span<const std::string> names);

/// For a source without delays: which sensor is strongest, and how far the array is from reading
/// alike.
[[nodiscard]] std::string levels_alone(const std::vector<Listening>& listenings,
                                       std::span<const std::string> names);

} // namespace lull
