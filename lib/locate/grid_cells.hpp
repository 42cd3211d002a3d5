// SPDX-License-Identifier: GPL-3.0-or-later
//
// The team's own search grid: cells named by column letter and row number.
#pragma once

#include "recording/session.hpp"

#include <array>
#include <optional>
#include <string>

namespace lull {

/// Column and row of a cell, from 0.
struct GridCell {
    int column = 0, row = 0;
    friend bool operator==(const GridCell&, const GridCell&) = default;
};

/// "B3": columns A to Z, then AA; rows from 1. Cell A1 has the grid's origin as a corner; rows go
/// along bearing_deg (clockwise from y), columns 90 degrees clockwise of it.
[[nodiscard]] std::string cell_name(GridCell cell);

/// The cell that holds a point; empty: outside.
[[nodiscard]] std::optional<GridCell> cell_at(const Grid& grid, double x_m, double y_m);

/// The point at so many cells along columns and rows: (0.5, 0.5) is the middle of A1.
[[nodiscard]] std::array<double, 2> grid_point(const Grid& grid, double columns, double rows);

[[nodiscard]] std::array<std::array<double, 2>, 4> outer_corners(const Grid& grid);

} // namespace lull
