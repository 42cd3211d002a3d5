// SPDX-License-Identifier: GPL-3.0-or-later
//
// Advice on where to put a sensor next.
#pragma once

#include "locate/place.hpp"

#include <vector>

namespace lull {

/// One sensor moved, for the next knock.
struct Move {
    int channel = 0;
    double x_m = 0.0, y_m = 0.0;
    double area90_m2 = 0.0;          ///< at present
    double expected_area90_m2 = 0.0; ///< with one more event heard after the move
};

/// Where a sensor may be moved to.
struct Ground {
    double reach_m = 0.0;        ///< beyond the sensors' rectangle, >= 0
    std::vector<Ring> forbidden; ///< areas to keep off
};

/// The best move, and the best one to another place. Empty where the place is unknown or nothing is
/// allowed.
/// The new place is chosen as an expectation over likely places of the source, from the information
/// of the present arrivals and of one more from the new place, if it is then loud enough to be
/// used. The area follows in linear approximation, as a share of the present area. The sensor with
/// the least information is moved, never the strongest: one that did not hear the source, else the
/// weakest. It keeps its height.
[[nodiscard]] std::vector<Move> advise(const Place& place, const std::vector<Listening>& listenings,
                                       const SearchSpace& space, const Medium& medium,
                                       const Ground& ground);

/// Whether a point lies inside a ring (even-odd rule).
[[nodiscard]] bool is_inside(const Ring& ring, double x_m, double y_m);

} // namespace lull
