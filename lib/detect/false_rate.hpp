// SPDX-License-Identifier: GPL-3.0-or-later
//
// How sure an event must be for false finds to be so few: as counted on the bench of hearing, on
// sounds that nothing was fitted to (data/hearing.md). Another site has another rate.
#pragma once

#include "detect/event.hpp"

namespace lull {

/// False finds of a kind an hour that were counted: outside of these nothing is known.
inline constexpr double least_false_per_hour = 1.0, most_false_per_hour = 30.0;

/// Confidence from which the bench had at most so many false finds of the kind an hour, between the
/// rates that were counted on the logarithm of the rate; 0 for kinds that it does not count.
///
/// \param per_hour  least_false_per_hour to most_false_per_hour
[[nodiscard]] double confidence_for(EventKind kind, double per_hour);

} // namespace lull
