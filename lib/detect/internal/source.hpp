// SPDX-License-Identifier: GPL-3.0-or-later
//
// Whether two impulses come from one source.
#pragma once

#include "detect/event.hpp"

#include <array>

namespace lull {

inline constexpr std::size_t pair_feature_count = 13;

/// What two impulses are compared by, in the order of pair_nodes: over the channels that both
/// have. One blow and one place are known by match_places.
[[nodiscard]] std::array<double, pair_feature_count> pair_features(const Event& a, const Event& b);

/// Log likelihood ratio of one source against two, -5..5.
[[nodiscard]] double same_source(const Event& a, const Event& b);

} // namespace lull
