// SPDX-License-Identifier: GPL-3.0-or-later
//
// Quantiles of several values.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <vector>

namespace lull {

/// The p-quantile of the values that are not NaN, by nearest rank; NaN without any.
/// \param p  0..1
[[nodiscard]] inline double quantile_of(std::vector<double> values, double p) {
    std::erase_if(values, [](double v) { return std::isnan(v); });
    if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
    const auto at = static_cast<std::ptrdiff_t>(p * static_cast<double>(values.size() - 1) + 0.5);
    std::nth_element(values.begin(), values.begin() + at, values.end());
    return values[static_cast<std::size_t>(at)];
}

} // namespace lull
