// SPDX-License-Identifier: GPL-3.0-or-later
//
// The lowest mode of a set of powers, as a gamma distribution.
#pragma once

#include <cstddef>
#include <span>

namespace lull {

/// A sorted set of powers with running sums, so that each pass of the fit costs a binary search.
struct SortedPowers {
    std::span<const float> value;       ///< rising, > 0
    std::span<const double> sum;        ///< sum[i]: of the first i values; size value.size() + 1
    std::span<const double> sum_of_log; ///< likewise of the natural logarithms
};

struct GammaFit {
    double mean = 0.0;
    double shape = 0.0; ///< half the degrees of freedom of one power
    double share = 0.0; ///< 0..1 of the set that the mode explains
};

/// Fits mean and shape to the lowest mode of `powers` by moments of the part under the 85th
/// percentile of the fit, starting from the lowest tenth. All zero for an empty set.
[[nodiscard]] GammaFit fit_lowest_mode(const SortedPowers& powers);

} // namespace lull
