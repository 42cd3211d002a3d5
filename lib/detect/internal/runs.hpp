// SPDX-License-Identifier: GPL-3.0-or-later
//
// Runs of taps: which impulses, of all that fall, belong to one source's rhythm.
#pragma once

#include "detect/event.hpp"
#include "detect/for_each.hpp"

#include <cstddef>
#include <vector>

namespace lull {

/// Finds runs among the impulses by dynamic programming: the run whose log likelihood ratio against
/// chance is largest comes first, then the best of what is left. The ratio sums, over its taps,
/// what their sounds say of one source (same_source) and how much better the interval fits its
/// rhythm than impulses falling at random at the local rate [Poisson]; impulses of others in
/// between cost nothing, a missed tap little.
///
/// \param impulses indices of tapping events, rising
/// \return indices of each run's taps, two at least, rising; runs in order of their first tap
[[nodiscard]] std::vector<std::vector<std::size_t>>
find_runs(const std::vector<Event>& events, const std::vector<std::size_t>& impulses,
          const ForEach& each = one_by_one);

} // namespace lull
