// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "locate/place.hpp"

#include <string>
#include <vector>

namespace lull {

/// A place under the name of its source.
struct NamedPlace {
    std::string name; ///< "3", "series 2"
    Place place;
    std::vector<CellProbability> cells; ///< of the team's grid; none without one, or without a map
};

} // namespace lull
