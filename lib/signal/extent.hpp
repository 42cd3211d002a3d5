// SPDX-License-Identifier: GPL-3.0-or-later
//
// Minimum, maximum and sum of samples, in one pass.
#pragma once

#include <span>

namespace lull {

struct Extent {
    float low = 0.0F, high = 0.0F; ///< 0 without samples
    double sum = 0.0;              ///< in a fixed order, whatever the processor
};

/// \param samples  none is NaN
[[nodiscard]] Extent extent_of(std::span<const float> samples);

} // namespace lull
