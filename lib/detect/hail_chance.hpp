// SPDX-License-Identifier: GPL-3.0-or-later
//
// Did more follow the team's hails than chance would have put there?
#pragma once

#include "detect/event.hpp"
#include "detect/hails.hpp"
#include "noise/quiet.hpp"

#include <optional>
#include <span>
#include <utility>
#include <vector>

namespace lull {

/// A stretch of time [from_s, to_s).
struct ListenedSpan {
    double from_s = 0.0, to_s = 0.0;
};

/// Exact 95 % interval of the mean of a Poisson variate that came out as `count` [Garwood 1936].
[[nodiscard]] std::pair<double, double> poisson_interval(int count);

/// Counts after hails against counts elsewhere. Counted are occurrences: lone events, and the first
/// of each run of one series, since the taps of a group do not come independently.
struct HailChance {
    int hails = 0;           ///< that lie in the listened time
    double listened_s = 0.0; ///< of it
    double answer_s = 0.0;   ///< of it in which an answer to a hail was listened for
    int followed = 0;        ///< occurrences in that time
    int elsewhere = 0;       ///< occurrences in the rest, the hails themselves left out
    double expected = 0.0;   ///< in the answer time at the rate of the rest
    double expected_low = 0.0, expected_high = 0.0; ///< for the 95 % interval of that rate
    int shifts = 0;                                 ///< tried
    double p = 1.0;          ///< share of shifts with as many after hails as there were
    double smallest_p = 1.0; ///< that these hails allow: if one occurrence followed each
};

/// The rate elsewhere first; then a permutation test: all hails are shifted together round the
/// listened time taken as a circle, in even steps, and the occurrences after them counted anew. It
/// assumes that without answers the occurrences know nothing of the hails, and that their pattern
/// is the same all through the listened time; the spacing of both is kept, so runs and rhythms do
/// no harm. p = (1 + shifts with at least as many) / (1 + shifts).
///
/// \param events   in order of onset; tapping and voice-like ones of rules.least_confidence count
/// \param listened stretches in order, apart from each other
/// \return none without a hail in the listened time
[[nodiscard]] std::optional<HailChance> hail_chance(const std::vector<Hail>& hails,
                                                    const std::vector<Event>& events,
                                                    std::span<const ListenedSpan> listened,
                                                    const HailRules& rules);

/// Quiet periods, when a hail falls into one; else the whole stretch.
[[nodiscard]] std::vector<ListenedSpan> listened_time(std::span<const QuietPeriod> quiet,
                                                      const std::vector<Hail>& hails,
                                                      ListenedSpan whole);

} // namespace lull
