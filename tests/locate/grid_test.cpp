// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/grid_cells.hpp"
#include "locate/outline.hpp"
#include "locate/place.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

TEST(Grid, CellsAreNamedByColumnAndRow) {
    EXPECT_EQ(cell_name({0, 0}), "A1");
    EXPECT_EQ(cell_name({25, 8}), "Z9");
    EXPECT_EQ(cell_name({26, 0}), "AA1");
    EXPECT_EQ(cell_name({701, 11}), "ZZ12");
}

TEST(Grid, RowsGoAlongTheBearing) {
    const Grid grid{{10.0, 20.0}, 2.0, 5, 4, 90.0, "site"}; // rows go east, columns south
    EXPECT_EQ(cell_at(grid, 13.0, 19.0), (GridCell{0, 1}));
    EXPECT_EQ(cell_at(grid, 11.0, 17.0), (GridCell{1, 0}));
    EXPECT_FALSE(cell_at(grid, 11.0, 21.0));
    const auto middle = grid_point(grid, 1.5, 0.5);
    EXPECT_EQ(cell_at(grid, middle[0], middle[1]), (GridCell{1, 0}));
}

TEST(Grid, ProbabilitiesAndTheOutsideAddUpToOne) {
    Place place;
    place.map = {0.0, 0.0, 1.0, 1.0, 4, 2, {0.1, 0.2, 0.1, 0.1, 0.1, 0.2, 0.1, 0.1}};
    const Grid grid{{0.0, 0.0}, 2.0, 1, 1, 0.0, "true"};
    const auto cells = cell_probabilities(place, grid);
    ASSERT_EQ(cells.size(), 2U);
    EXPECT_EQ(cells[0].cell, "A1");
    EXPECT_NEAR(cells[0].probability, 0.6, 1e-9);
    EXPECT_EQ(cells[1].cell, "outside");
    EXPECT_NEAR(cells[1].probability, 0.4, 1e-9);
}

TEST(Outline, RingHasAHole) {
    DensityMap map{0.0, 0.0, 1.0, 1.0, 6, 6, std::vector<double>(36, 0.0)};
    for (int row = 1; row < 5; ++row)
        for (int column = 1; column < 5; ++column)
            if (row == 1 || row == 4 || column == 1 || column == 4)
                map.probability[static_cast<std::size_t>(row * 6 + column)] = 1.0;
    const auto found = outlines(map, 0.5);
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found[0].holes.size(), 1U);
    EXPECT_TRUE(well_known_text(found).starts_with("MULTIPOLYGON((("));
}

TEST(Outline, PartsThatTouchAtACornerAreTwo) {
    const DensityMap map{0.0, 0.0, 1.0, 1.0, 2, 2, {1.0, 0.0, 0.0, 1.0}};
    EXPECT_EQ(outlines(map, 0.5).size(), 2U);
    EXPECT_TRUE(outlines(map, 2.0).empty());
    EXPECT_EQ(well_known_text({}), "");
}

} // namespace
} // namespace lull
