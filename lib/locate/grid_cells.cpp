// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/grid_cells.hpp"

#include <cmath>
#include <numbers>

namespace lull {
namespace {

double bearing_rad(const Grid& grid) {
    return grid.bearing_deg * std::numbers::pi / 180.0;
}

} // namespace

std::string cell_name(GridCell cell) {
    std::string letters;
    for (int n = cell.column; n >= 0; n = n / 26 - 1)
        letters.insert(letters.begin(), static_cast<char>('A' + n % 26));
    return letters + std::to_string(cell.row + 1);
}

std::optional<GridCell> cell_at(const Grid& grid, double x_m, double y_m) {
    const double east = x_m - grid.origin_m[0], north = y_m - grid.origin_m[1];
    const double sine = std::sin(bearing_rad(grid)), cosine = std::cos(bearing_rad(grid));
    const double column = std::floor((east * cosine - north * sine) / grid.cell_m);
    const double row = std::floor((east * sine + north * cosine) / grid.cell_m);
    if (column < 0.0 || row < 0.0 || column >= grid.columns || row >= grid.rows)
        return std::nullopt;
    return GridCell{static_cast<int>(column), static_cast<int>(row)};
}

std::array<double, 2> grid_point(const Grid& grid, double columns, double rows) {
    const double sine = std::sin(bearing_rad(grid)), cosine = std::cos(bearing_rad(grid));
    return {grid.origin_m[0] + grid.cell_m * (columns * cosine + rows * sine),
            grid.origin_m[1] + grid.cell_m * (rows * cosine - columns * sine)};
}

std::array<std::array<double, 2>, 4> outer_corners(const Grid& grid) {
    return {grid_point(grid, 0, 0), grid_point(grid, grid.columns, 0),
            grid_point(grid, grid.columns, grid.rows), grid_point(grid, 0, grid.rows)};
}

} // namespace lull
