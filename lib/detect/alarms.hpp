// SPDX-License-Identifier: GPL-3.0-or-later
//
// Alarms: blasts on a beat as a machine keeps it. A person's signal is a few of them, and by hand.
#pragma once

#include "detect/event.hpp"
#include "detect/horns.hpp"

#include <vector>

namespace lull {

/// Blasts and calls of one length, alike in their bands, that follow each other on a fixed beat,
/// ten or more and more than two of the longest signal of the rules, repeat as an alarm does: their
/// `why` says of how many, and how often, and their confidence stays under 0.5, so that no order is
/// read from them. Their kind stays what they sound like. The beat goes on over what is missed, a
/// minute at most: what is on it is one of them too.
///
/// \param events in order of onset; changed in place
void tell_alarms(std::vector<Event>& events, const HornRules& rules);

} // namespace lull
