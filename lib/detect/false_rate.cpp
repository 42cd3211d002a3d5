// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/false_rate.hpp"

#include "detect/false_counts.hpp"

#include <algorithm>
#include <cmath>
#include <span>

namespace lull {

double confidence_for(EventKind kind, double per_hour) {
    const std::span<const FalseCount> counts = kind == EventKind::tapping      ? tapping_false
                                               : kind == EventKind::voice_like ? voice_like_false
                                               : kind == EventKind::horn
                                                   ? horn_false
                                                   : std::span<const FalseCount>{};
    if (counts.empty()) return 0.0;
    const auto above = std::find_if(counts.begin(), counts.end(), [&](const FalseCount& count) {
        return count.per_hour >= per_hour;
    });
    if (above == counts.begin()) return counts.front().confidence;
    if (above == counts.end()) return counts.back().confidence;
    const FalseCount& below = *(above - 1);
    const double part =
        std::log(per_hour / below.per_hour) / std::log(above->per_hour / below.per_hour);
    return below.confidence + part * (above->confidence - below.confidence);
}

} // namespace lull
