// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "locate/place.hpp"

#include <string>
#include <vector>

namespace lull {

/// The place of a source, under its name.
struct NamedPlace {
    std::string name; ///< "3", "series 2"
    Place place;
    std::vector<CellProbability>
        cells; ///< of the team's grid; empty without a grid or without a map
};

} // namespace lull
