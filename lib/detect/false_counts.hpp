// SPDX-License-Identifier: GPL-3.0-or-later
//
// Not to be edited. Written by:
//   scripts/evaluate BUILD --quick --scenes 204 --side report --against LAST_RELEASE --textbook 102
#pragma once

#include <array>

namespace lull {

/// From this confidence on there were so many false finds of a kind an hour.
struct FalseCount {
    double per_hour = 0.0, confidence = 0.0;
};

// clang-format off
inline constexpr std::array<FalseCount, 4> tapping_false{{{1.0, 0.829}, {3.0, 0.794}, {10.0, 0.572}, {30.0, 0.450}}};
inline constexpr std::array<FalseCount, 4> voice_like_false{{{1.0, 0.967}, {3.0, 0.934}, {10.0, 0.745}, {30.0, 0.649}}};
inline constexpr std::array<FalseCount, 4> horn_false{{{1.0, 0.788}, {3.0, 0.466}, {10.0, 0.000}, {30.0, 0.000}}};
// clang-format on

} // namespace lull
