// SPDX-License-Identifier: GPL-3.0-or-later
//
// The probability of place in two dimensions, on a lattice.
#pragma once

#include "locate/posterior.hpp"

#include <array>
#include <vector>

namespace lull {

/// Probabilities of rectangular pixels, row by row from low y.
struct DensityMap {
    double x_m = 0.0, y_m = 0.0; ///< low corner of the first pixel
    double pixel_x_m = 1.0, pixel_y_m = 1.0;
    int columns = 0, rows = 0;
    std::vector<double> probability; ///< sum 1 minus what lies outside the lattice

    [[nodiscard]] double at(int column, int row) const {
        return probability[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
                           static_cast<std::size_t>(column)];
    }
    [[nodiscard]] std::array<double, 2> middle(int column, int row) const {
        return {x_m + pixel_x_m * (column + 0.5), y_m + pixel_y_m * (row + 0.5)};
    }
    [[nodiscard]] double pixel_m2() const { return pixel_x_m * pixel_y_m; }
};

/// At most 256 pixels in each direction, over the rectangle that holds all but 0.1 % of the
/// probability.
[[nodiscard]] DensityMap density_map(const std::vector<Patch>& patches, const SearchSpace& space);

/// The smallest set of pixels that holds a share of the probability: returns the least probability
/// of a pixel in it.
/// \param share  0 < share < 1
[[nodiscard]] double region_threshold(const DensityMap& map, double share);

/// Area of the pixels with at least the threshold [m^2].
[[nodiscard]] double area_m2(const DensityMap& map, double threshold);

/// Connected sets of pixels with at least the threshold, as indices, the most probable set first.
[[nodiscard]] std::vector<std::vector<std::size_t>> connected_parts(const DensityMap& map,
                                                                    double threshold);

} // namespace lull
