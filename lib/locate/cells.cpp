// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/grid_cells.hpp"
#include "locate/place.hpp"

#include <algorithm>

namespace lull {
namespace {

constexpr double least_listed = 0.001;
constexpr int finest = 5; ///< points in a pixel, in each direction

} // namespace

std::vector<CellProbability> cell_probabilities(const Place& place, const Grid& grid) {
    const auto rows = static_cast<std::size_t>(grid.rows);
    std::vector<double> inside(static_cast<std::size_t>(grid.columns) * rows);
    double outside = 1.0;
    for (int row = 0; row < place.map.rows; ++row)
        for (int column = 0; column < place.map.columns; ++column) {
            const double share = place.map.at(column, row) / (finest * finest);
            if (share <= 0.0) continue;
            for (int k = 0; k < finest * finest; ++k) {
                const double x =
                    place.map.x_m + place.map.pixel_x_m * (column + (k % finest + 0.5) / finest);
                const double y =
                    place.map.y_m + place.map.pixel_y_m * (row + (k / finest + 0.5) / finest);
                const auto cell = cell_at(grid, x, y);
                if (!cell) continue;
                inside[static_cast<std::size_t>(cell->column) * rows +
                       static_cast<std::size_t>(cell->row)] += share;
                outside -= share;
            }
        }
    std::vector<CellProbability> cells;
    for (std::size_t i = 0; i < inside.size(); ++i) {
        if (inside[i] >= least_listed)
            cells.push_back(
                {cell_name({static_cast<int>(i / rows), static_cast<int>(i % rows)}), inside[i]});
    }
    cells.push_back({"outside", std::max(0.0, outside)});
    return cells;
}

} // namespace lull
