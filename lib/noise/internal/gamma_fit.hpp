// SPDX-License-Identifier: GPL-3.0-or-later
//
// Fits a gamma distribution to the lowest mode of a set of powers.
#pragma once

#include <cstddef>
#include <span>

namespace lull {

/// One of a sorted set of powers, with the sums up to it: each pass of the fit then costs a binary
/// search.
struct RunningPower {
    float power = 0.0F, log = 0.0F;
    double sum = 0.0;        ///< of the powers up to this one
    double sum_of_log = 0.0; ///< of their natural logarithms
};

struct GammaFit {
    double mean = 0.0;
    double shape = 0.0; ///< half the degrees of freedom of one power
    double share = 0.0; ///< share of the set that the mode explains, 0..1
};

/// Fits mean and shape to the lowest mode of `powers`, by the moments of the part under the 85th
/// percentile of the fit. Starts from the lowest tenth.
/// \param powers  > 0, rising, after one element of zeros; without any the result is all zero
[[nodiscard]] GammaFit fit_lowest_mode(std::span<const RunningPower> powers);

} // namespace lull
