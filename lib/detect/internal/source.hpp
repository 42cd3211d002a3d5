// SPDX-License-Identifier: GPL-3.0-or-later
//
// Whether two impulses come from one source.
#pragma once

#include "detect/event.hpp"

#include <array>

namespace lull {

inline constexpr std::size_t pair_feature_count = 8;

/// What two impulses are compared by, in the order of pair_weights: over the channels that both
/// have, but for the waveform, which is compared on the strongest channel of `b`.
[[nodiscard]] std::array<double, pair_feature_count> pair_features(const Event& a, const Event& b);

/// Log likelihood ratio of one source against two, -5..5. Levels that do not move together over
/// the channels, and channels that only one of them is heard on, speak against [practice].
[[nodiscard]] double same_source(const Event& a, const Event& b);

} // namespace lull
