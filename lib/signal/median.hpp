// SPDX-License-Identifier: GPL-3.0-or-later
//
// The median of several values.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace lull {

/// The median; for an even number of values the upper of the two in the middle; 0 without values.
[[nodiscard]] inline double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

} // namespace lull
