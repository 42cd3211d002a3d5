// SPDX-License-Identifier: GPL-3.0-or-later
//
// The posterior probability of place and speed.
#pragma once

#include "locate/likelihood.hpp"

#include <vector>

namespace lull {

/// A box of unknowns and the probability that the source is in it.
struct Patch {
    Box box;
    double probability = 0.0;
};

/// Divides the search space and the range of speeds into boxes that together hold all probability,
/// small where it is dense. Boxes that hold most are halved along the unknown with the largest
/// blur, until the blur is small compared with the noise or `most_boxes` have been evaluated. What
/// is still blurred then is too wide, not too narrow. Deterministic.
[[nodiscard]] std::vector<Patch> posterior(const PlaceLikelihood& likelihood,
                                           const SearchSpace& space, const Medium& medium,
                                           int most_boxes = 12000);

} // namespace lull
