// SPDX-License-Identifier: GPL-3.0-or-later
//
// The probability of every place and speed, given what was measured.
#pragma once

#include "locate/likelihood.hpp"

#include <vector>

namespace lull {

/// A box of unknowns and the probability that the source is in it.
struct Patch {
    Box box;
    double probability = 0.0;
};

/// The search space and the range of speeds in boxes that together hold all probability; small
/// where it is dense. Boxes that hold most are halved, along the unknown that blurs them most,
/// until the blur is small against the noise, or `most_boxes` have been looked at: what is then
/// still blurred is too wide rather than too narrow. Deterministic.
[[nodiscard]] std::vector<Patch> posterior(const PlaceLikelihood& likelihood,
                                           const SearchSpace& space, const Medium& medium,
                                           int most_boxes = 12000);

} // namespace lull
