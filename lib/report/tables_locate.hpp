// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tables of places, columns and order as in report/tables.hpp.
#pragma once

#include "account/named_place.hpp"
#include "locate/advice.hpp"
#include "locate/audibility.hpp"
#include "locate/place.hpp"
#include "recording/recording.hpp"
#include "report/table.hpp"

#include <span>
#include <string>

namespace lull {

/// Further columns: polygon50, polygon90: the regions as well-known text (OGC 06-103r4).
[[nodiscard]] Table locations_table(std::span<const NamedPlace> places);
/// Sources without cells are left out.
[[nodiscard]] Table cells_table(std::span<const NamedPlace> places);

/// Moves advised for the place of one source.
struct NamedAdvice {
    std::string name;
    std::vector<Move> moves;
};
[[nodiscard]] Table next_table(std::span<const NamedAdvice> advice, const Recording& recording);

/// Further columns: low, high: what the counts behind it leave possible; caveat: recall_caveat.
[[nodiscard]] Table audibility_table(std::span<const AudibleStretch> stretches);

} // namespace lull
