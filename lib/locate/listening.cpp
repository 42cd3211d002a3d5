// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/listening.hpp"

#include "locate/grid_cells.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

double air_speed_m_s(double temperature_c) {
    return 343.2 * std::sqrt((temperature_c + 273.15) / 293.15);
}

Medium medium_of(const Propagation& propagation) {
    Medium medium;
    medium.lowest_m_s = propagation.seismic_m_s.first;
    medium.highest_m_s = propagation.seismic_m_s.second;
    medium.beyond_factor = 3.0;
    medium.air_m_s = air_speed_m_s(propagation.air_temperature_c);
    return medium;
}

SearchSpace search_space(const std::vector<Listening>& listenings,
                         const std::optional<Grid>& grid) {
    constexpr double least_margin_m = 5.0, least_depth_m = 3.0, above_m = 1.0;
    SearchSpace space{{1e300, 1e300, 1e300}, {-1e300, -1e300, -1e300}, grid};
    const auto include = [&space](std::size_t d, double value) {
        space.low[d] = std::min(space.low[d], value);
        space.high[d] = std::max(space.high[d], value);
    };
    for (const Listening& listening : listenings)
        for (const Sensor& sensor : listening.sensors)
            for (std::size_t d = 0; d < 3; ++d)
                include(d, sensor.position_m[d]);
    const double extent_m = std::max(space.high[0] - space.low[0], space.high[1] - space.low[1]);
    const double margin_m = std::max(least_margin_m, 0.5 * extent_m);
    space.low[2] -= std::max(least_depth_m, 0.25 * extent_m);
    space.high[2] += above_m;
    for (std::size_t d = 0; d < 2; ++d) {
        space.low[d] -= margin_m;
        space.high[d] += margin_m;
    }
    if (grid)
        for (const auto& corner : outer_corners(*grid))
            for (std::size_t d = 0; d < 2; ++d)
                include(d, corner[d]);
    return space;
}

} // namespace lull
