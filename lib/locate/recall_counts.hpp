// SPDX-License-Identifier: GPL-3.0-or-later
//
// Written by scripts/measure_recall.py; not to be edited. The command:
//   scripts/measure_recall.py BUILD --scenes 34 --write    (seeds from 900000 on)
#pragma once

#include "locate/recall_curve.hpp"

#include <array>

namespace lull {

inline constexpr std::array<RecallCount, 9> knock_counts{{
    {-6.0, 7, 265},
    {-3.0, 45, 265},
    {0.0, 82, 275},
    {3.0, 155, 263},
    {5.0, 169, 268},
    {6.0, 171, 264},
    {10.0, 222, 279},
    {15.0, 232, 267},
    {20.0, 238, 268},
}};
inline constexpr std::array<RecallCount, 9> voice_counts{{
    {-6.0, 1, 260},
    {-3.0, 6, 263},
    {0.0, 78, 262},
    {3.0, 173, 267},
    {5.0, 188, 264},
    {6.0, 192, 271},
    {10.0, 229, 260},
    {15.0, 228, 259},
    {20.0, 224, 261},
}};

} // namespace lull
