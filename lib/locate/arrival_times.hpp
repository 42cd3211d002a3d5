// SPDX-License-Identifier: GPL-3.0-or-later
//
// Arrival times that a set of delays stands for, and which delays contradict the others.
#pragma once

#include "locate/listening.hpp"

#include <vector>

namespace lull {

/// Arrival times of sensors that delays tie together; only their differences mean something.
struct TiedArrivals {
    std::vector<int> sensors;        ///< indices into Listening::sensors, two or more
    std::vector<double> time_s;      ///< each
    std::vector<double> variance_s2; ///< each: of a difference, the two are added
};

/// One account of the delays: which are wrong, and the arrivals that the others give.
struct ArrivalHypothesis {
    double log_weight = 0.0; ///< ln of what the delays that are wrong, and the closure of the
                             ///< others, leave of the probability
    std::vector<int> wrong;  ///< indices into Listening::delays
    std::vector<TiedArrivals> tied;
    bool rises = false; ///< of envelopes: each arrival may be late, hardly early, several at once
};

/// The accounts that are worth keeping, most likely first, at least one. Round any three sensors
/// the delays add up to zero, so those that do not fit the others show without any assumption on
/// place or speed. A delay's error is its two arrivals' and a part of its own; how large the own
/// part is, the closure tells. \param longest_s  for each delay: what distance and the lowest speed
/// allow; a wrong delay lies
///                   anywhere within it
[[nodiscard]] std::vector<ArrivalHypothesis>
arrival_hypotheses(const Listening& listening, const std::vector<double>& longest_s);

} // namespace lull
