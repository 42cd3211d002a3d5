// SPDX-License-Identifier: GPL-3.0-or-later
//
// Chains of alike impulses, and the groups that pauses cut them into.
#pragma once

#include "detect/event.hpp"

#include <array>
#include <cstddef>
#include <vector>

namespace lull {

/// Impulses of one source, as far as likeness tells: indices into the events, in time order.
struct Chain {
    std::vector<std::size_t> members;
    double likeness = 0.0; ///< mean of neighbours
};

/// A run of taps without a pause.
struct TapGroup {
    std::size_t first = 0, count = 0; ///< into Chain::members
    double interval_s = 0.0;          ///< median; 0 for a single tap
    double regularity = 0.0; ///< 0..1: 1 - robust spread of the intervals over their median
};

/// What is weighed about one group of a chain.
struct GroupFeatures {
    double taps = 0.0;
    double regularity = 0.0;
    double likeness = 0.0;    ///< mean between neighbours in the group
    double snr_db = 0.0;      ///< mean of the taps
    double alone = 0.0;       ///< mean confidence of the taps by themselves, as log odds
    double crowd = 0.0;       ///< other impulses in the 10 s before and after, per 10 s
    double groups = 0.0;      ///< groups of 2..8 taps in the chain within a minute
    double longest_run = 0.0; ///< taps of the longest group of the chain within a minute
    double goes_on = 0.0;     ///< beats before and after at which any impulse falls, at most 16
    double apart = 0.0;       ///< shorter pause before or after it, from any impulse, in intervals
    double interval_s = 0.0;
    double channels = 0.0; ///< mean number of channels that hear a tap
};

[[nodiscard]] std::vector<Chain> chain_alike(const std::vector<Event>& events);
[[nodiscard]] std::vector<TapGroup> cut_at_pauses(const std::vector<Event>& events,
                                                  const Chain& chain);
[[nodiscard]] GroupFeatures group_features(const std::vector<Event>& events, const Chain& chain,
                                           const std::vector<TapGroup>& groups, std::size_t group,
                                           const std::vector<std::size_t>& impulses);

/// The same in the form that the model weighs, in the order of series_weights.
[[nodiscard]] std::array<double, 14> series_features(const GroupFeatures& features);

/// Median of the intervals and 1 - spread / median, where an interval of twice the median counts
/// as one missed tap. \param times rising, at least 2 [s]
[[nodiscard]] TapGroup rhythm_of(const std::vector<double>& times);

} // namespace lull
