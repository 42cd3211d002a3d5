// SPDX-License-Identifier: GPL-3.0-or-later
//
// Impulses and lasting sounds of one channel that claim the same moments.
#pragma once

#include "detect/event.hpp"

#include <vector>

namespace lull {

/// Sets Shape::impulsive of every lasting sound, the share of its energy over the floor that those
/// impulses in it account for which were struck, with a sharp onset and decay from it on; and
/// Shape::company, the impulses a second in the 5 s before and after it, as far as their spectra
/// are its own: where rain rings a roof, what rings longer is rain as well.
void compare_with_impulses(const std::vector<Arrival>& impulses, std::vector<Arrival>& sustained);

/// A run of knocks smears into a stretch, and a voice begins with impulses: of each such pair the
/// one that explains the energy stays. What lasts and is neither voice nor horn hides no impulse.
/// Both lists are in time order and stay so.
void settle_overlaps(std::vector<Arrival>& impulses, std::vector<Arrival>& sustained);

} // namespace lull
