// SPDX-License-Identifier: GPL-3.0-or-later
//
// Written by scripts/measure_recall.py; not to be edited. The command:
//   scripts/measure_recall.py BUILD --scenes 34 --write    (seeds from 900000 on)
#pragma once

#include "locate/recall_curve.hpp"

#include <array>

namespace lull {

inline constexpr std::array<RecallCount, 9> knock_counts{{
    {-6.0, 8, 265},
    {-3.0, 44, 265},
    {0.0, 84, 275},
    {3.0, 166, 263},
    {5.0, 176, 268},
    {6.0, 183, 264},
    {10.0, 234, 279},
    {15.0, 242, 267},
    {20.0, 252, 268},
}};
inline constexpr std::array<RecallCount, 9> voice_counts{{
    {-6.0, 1, 260},
    {-3.0, 9, 263},
    {0.0, 84, 262},
    {3.0, 173, 267},
    {5.0, 197, 264},
    {6.0, 190, 271},
    {10.0, 228, 260},
    {15.0, 228, 259},
    {20.0, 228, 261},
}};

} // namespace lull
