// SPDX-License-Identifier: GPL-3.0-or-later
//
// Chains of alike impulses, and the groups that pauses cut them into.
#pragma once

#include "detect/event.hpp"
#include "detect/for_each.hpp"

#include <cstddef>
#include <vector>

namespace lull {

/// A run of taps without a pause.
struct TapGroup {
    std::size_t first = 0, count = 0; ///< into Chain::members
    double interval_s = 0.0;          ///< median; 0 for a single tap
    double regularity = 0.0; ///< 0..1: 1 - robust spread of the intervals over their median
};

/// Impulses of one source, as far as likeness tells: indices into the events, in time order, and
/// the runs (runs.hpp) and single taps that they fall into.
struct Chain {
    std::vector<std::size_t> members;
    std::vector<TapGroup> groups;
};

[[nodiscard]] std::vector<Chain> chain_alike(const std::vector<Event>& events,
                                             const ForEach& each = one_by_one);
/// The parts that a group is judged by: itself, or of more than six taps the stretches of six,
/// which overlap by half. So long is what a person's group is known by; how long a run goes on says
/// nothing of who knocks.
[[nodiscard]] std::vector<TapGroup> parts_of(const std::vector<Event>& events, const Chain& chain,
                                             const TapGroup& group);

/// Median of the intervals and 1 - spread / median, where an interval of twice the median counts
/// as one missed tap. \param times rising, at least 2 [s]
[[nodiscard]] TapGroup rhythm_of(const std::vector<double>& times);

} // namespace lull
