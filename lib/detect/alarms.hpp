// SPDX-License-Identifier: GPL-3.0-or-later
//
// Alarms: blasts that a machine repeats. A person's signal is a few of them, and by hand.
#pragma once

#include "detect/event.hpp"
#include "detect/horns.hpp"

#include <vector>

namespace lull {

/// Blasts and calls of one length, alike in their bands, that follow each other on a fixed beat,
/// ten or more and more than two of the longest signal of the rules, become `other`, and their
/// `why` says of how many, and how often. The beat goes on over what is missed, a minute at most:
/// what is on it is one of them too. Confidences stay: of a sound that stood out.
///
/// \param events in order of onset; changed in place
void tell_alarms(std::vector<Event>& events, const HornRules& rules);

} // namespace lull
