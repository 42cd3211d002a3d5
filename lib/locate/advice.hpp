// SPDX-License-Identifier: GPL-3.0-or-later
//
// Where to put a sensor next.
#pragma once

#include "locate/place.hpp"

#include <vector>

namespace lull {

/// One sensor moved, for the next knock.
struct Move {
    int channel = 0;
    double x_m = 0.0, y_m = 0.0;
    double area90_m2 = 0.0;          ///< now
    double expected_area90_m2 = 0.0; ///< with one more event heard after the move
};

/// What a sensor may be moved to.
struct Ground {
    double reach_m = 0.0;        ///< beyond the sensors' rectangle, >= 0
    std::vector<Ring> forbidden; ///< areas to keep off
};

/// The best move, and the best one to somewhere else; none where the place is not told at all, or
/// nowhere is allowed. The new place is chosen over places of the source that are now likely, by
/// the information of the arrivals as they are and of one more from there, if it is then loud
/// enough to be used; the area follows from it in linear approximation, as a share of the area now.
/// Moved is the sensor that tells least, never the strongest: one that did not hear the source,
/// else the weakest. The new place is at its old height.
[[nodiscard]] std::vector<Move> advise(const Place& place, const std::vector<Listening>& listenings,
                                       const SearchSpace& space, const Medium& medium,
                                       const Ground& ground);

/// Whether a point lies in a ring (even-odd rule).
[[nodiscard]] bool is_inside(const Ring& ring, double x_m, double y_m);

} // namespace lull
