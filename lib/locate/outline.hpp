// SPDX-License-Identifier: GPL-3.0-or-later
//
// Outlines of regions.
#pragma once

#include "locate/density_map.hpp"

#include <array>
#include <string>
#include <vector>

namespace lull {

using Ring = std::vector<std::array<double, 2>>; ///< closed; the first point is not repeated [m]

/// An outer ring, counter-clockwise, and the holes in it, clockwise.
struct Outline {
    Ring outer;
    std::vector<Ring> holes;
};

/// The outlines of the pixels with at least the threshold, the most probable part first. Corners
/// are smoothed by less than a pixel.
[[nodiscard]] std::vector<Outline> outlines(const DensityMap& map, double threshold);

/// Well-known text [OGC 06-103r4, simple feature access]: MULTIPOLYGON(((x y, ...))), metres with
/// two decimals; empty without outlines.
[[nodiscard]] std::string well_known_text(const std::vector<Outline>& outlines);

} // namespace lull
