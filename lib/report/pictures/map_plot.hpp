// SPDX-License-Identifier: GPL-3.0-or-later
//
// Maps: sensors, regions, the team's grid, seen from above.
#pragma once

#include <array>
#include <string>
#include <vector>

namespace lull {

using MapLine = std::vector<std::array<double, 2>>; ///< x, y [m]

struct MapSensor {
    std::string name;
    double x_m = 0.0, y_m = 0.0;
    bool round = false; ///< a ring for a microphone, a square for other sensors
    std::string note;   ///< under the name: "1st, +0.00 ms"
};

struct MapRegion {
    MapLine outline;    ///< closed
    bool inner = false; ///< thick and hatched: 50 %; else thin: 90 %
};

struct MapPlace {
    std::string name;
    double x_m = 0.0, y_m = 0.0;
};

struct MapText {
    double x_m = 0.0, y_m = 0.0;
    std::string text;
};

struct MapPlot {
    std::string title;
    std::vector<MapSensor> sensors;
    std::vector<MapRegion> regions;
    std::vector<MapPlace> places; ///< crosses
    std::vector<MapLine> lines;   ///< thin: the team's grid
    std::vector<MapText> texts;   ///< names of cells, or figures in them
    std::string north;            ///< word beside the arrow: "true north"
    std::vector<std::string> legend;
};

/// A map to scale, y up, with a scale bar and an arrow along y. It shows everything given.
[[nodiscard]] std::string map_plot_svg(const MapPlot& plot);

} // namespace lull
