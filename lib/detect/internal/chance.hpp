// SPDX-License-Identifier: GPL-3.0-or-later
//
// What chance makes of the impulses around a group: rain and debris make pairs and triples of alike
// impulses too, the more the denser they fall. A group must beat its own surroundings.
#pragma once

#include "detect/event.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace lull {

inline constexpr double chance_reach_s = 30.0; ///< of the surroundings, before and after

/// How a group stands against the impulses around it.
struct Chance {
    double rate = 0.0;     ///< impulses a second, as strong and as alike as the group's own [1/s]
    double expected = 0.0; ///< ln of the number of such groups expected within a minute, if
                           ///< impulses fell at random [Poisson]
};

/// \param events   the whole list, in order of onset
/// \param impulses indices of the tapping events in it, rising
/// \param taps     the group's own indices, rising, at least 2
/// \param repeats  indices, rising, of what belongs to the same source: no surroundings
/// \param spread_s robust spread of the group's intervals [s]
[[nodiscard]] Chance chance_of(const std::vector<Event>& events,
                               std::span<const std::size_t> impulses,
                               std::span<const std::size_t> taps,
                               std::span<const std::size_t> repeats, double spread_s);

} // namespace lull
