// SPDX-License-Identifier: GPL-3.0-or-later
//
// Arrival times from a set of delays, and the delays that contradict the others.
#pragma once

#include "locate/listening.hpp"

#include <vector>

namespace lull {

/// Arrival times of sensors that delays connect. Only their differences have a meaning.
struct TiedArrivals {
    std::vector<int> sensors;        ///< indices into Listening::sensors, at least two
    std::vector<double> time_s;      ///< one a sensor
    std::vector<double> variance_s2; ///< one a sensor; the variance of a difference is their sum
};

/// One hypothesis on the delays: which of them are wrong, and the arrivals that follow from the
/// others.
struct ArrivalHypothesis {
    /// ln of the probability, from the wrong delays and the closure of the others
    double log_weight = 0.0;
    std::vector<int> wrong; ///< indices into Listening::delays
    std::vector<TiedArrivals> tied;
    bool rises = false; ///< for envelopes: any number of arrivals may be late, hardly any early
};

/// The hypotheses worth keeping, the likeliest first, at least one. Round any three sensors the
/// delays must add up to zero, so a delay that does not fit shows without any assumption on place
/// or speed. A delay's error consists of the errors of its two arrivals and of its own; the closure
/// shows how large its own is.
/// \param longest_s  largest delay that distance and lowest speed allow, for each delay; a wrong
///                   delay lies anywhere within it
[[nodiscard]] std::vector<ArrivalHypothesis>
arrival_hypotheses(const Listening& listening, const std::vector<double>& longest_s);

} // namespace lull
