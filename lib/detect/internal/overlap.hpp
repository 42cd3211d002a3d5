// SPDX-License-Identifier: GPL-3.0-or-later
//
// Impulses and lasting sounds of one channel that claim the same moments.
#pragma once

#include "detect/event.hpp"

#include <vector>

namespace lull {

/// A run of knocks smears into a stretch, and a voice begins with impulses: of each such pair the
/// one that explains the energy stays; of what the network took for a voice that is settled. What
/// lasts and is neither voice nor horn hides no impulse. Both lists are in time order and stay so.
void settle_overlaps(std::vector<Arrival>& impulses, std::vector<Arrival>& sustained);

} // namespace lull
