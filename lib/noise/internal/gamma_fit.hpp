// SPDX-License-Identifier: GPL-3.0-or-later
//
// The lowest mode of a set of powers, as a gamma distribution.
#pragma once

#include <cstddef>
#include <span>

namespace lull {

/// One of a sorted set of powers, with the sums up to it, so that each pass of the fit costs a
/// binary search.
struct RunningPower {
    float power = 0.0F, log = 0.0F;
    double sum = 0.0;        ///< of the powers up to this one
    double sum_of_log = 0.0; ///< likewise of their natural logarithms
};

struct GammaFit {
    double mean = 0.0;
    double shape = 0.0; ///< half the degrees of freedom of one power
    double share = 0.0; ///< 0..1 of the set that the mode explains
};

/// Fits mean and shape to the lowest mode of `powers` by moments of the part under the 85th
/// percentile of the fit, starting from the lowest tenth.
/// \param powers  rising, > 0, after an element of zeros; all zero is returned if there is no more
[[nodiscard]] GammaFit fit_lowest_mode(std::span<const RunningPower> powers);

} // namespace lull
