// SPDX-License-Identifier: GPL-3.0-or-later
//
// The place of one source, with its uncertainty and evidence.
#pragma once

#include "locate/density_map.hpp"
#include "locate/listening.hpp"
#include "locate/outline.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

enum class PlaceShape {
    region,     ///< at least three sensors, not in a line: an area
    curve,      ///< one delay: a curve
    two_places, ///< sensors in a line: one place on either side
    rank_only,  ///< no delay: only levels
};
[[nodiscard]] const char*
name_of(PlaceShape shape); ///< "region", "curve", "two-places", "rank-only"

/// Only what the shape allows is set.
struct Place {
    PlaceShape shape = PlaceShape::rank_only;
    std::optional<double> x_m, y_m;  ///< region: the point of least expected distance in its most
                                     ///< probable part; two places: the middle of the better one
    std::optional<double> z_m;       ///< only where the geometry determines depth
    std::optional<double> speed_m_s; ///< in the structure, median
    std::optional<double> area50_m2, area90_m2;
    /// Full axes and bearing (clockwise from y, 0..180) of the normal region that would hold 90 %
    /// of the part round x, y [chi-square with two degrees of freedom, 4.6052].
    std::optional<double> major_m, minor_m, bearing_deg;
    std::string evidence; ///< what agreed and what did not, in words and figures
    std::vector<Outline> outline50, outline90;
    DensityMap map;             ///< empty for rank-only
    std::vector<Patch> patches; ///< empty for rank-only
};

/// Estimates the place of one source.
/// \param listenings  all of one source; any may lack delays or levels
/// \param names       of the recording's channels
[[nodiscard]] Place locate(const std::vector<Listening>& listenings, const SearchSpace& space,
                           const Medium& medium, std::span<const std::string> names);

/// The probability of each cell of the team's grid for one source, column by column. The last entry
/// is "outside". Cells under 0.001 are not listed; including them the sum is 1.
struct CellProbability {
    std::string cell;
    double probability = 0.0;
};
[[nodiscard]] std::vector<CellProbability> cell_probabilities(const Place& place, const Grid& grid);

} // namespace lull
