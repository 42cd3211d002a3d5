// SPDX-License-Identifier: GPL-3.0-or-later
//
// Written by scripts/measure_recall.py; not to be edited. The command:
//   scripts/measure_recall.py BUILD --scenes 8 --write    (seeds from 900000 on)
#pragma once

#include "locate/recall_curve.hpp"

#include <array>

namespace lull {

inline constexpr std::array<RecallCount, 9> knock_counts{{
    {-6.0, 1, 65},
    {-3.0, 14, 65},
    {0.0, 24, 61},
    {3.0, 34, 63},
    {5.0, 34, 63},
    {6.0, 32, 59},
    {10.0, 52, 63},
    {15.0, 51, 65},
    {20.0, 55, 60},
}};
inline constexpr std::array<RecallCount, 9> voice_counts{{
    {-6.0, 0, 61},
    {-3.0, 1, 61},
    {0.0, 23, 62},
    {3.0, 34, 59},
    {5.0, 55, 63},
    {6.0, 46, 63},
    {10.0, 62, 64},
    {15.0, 57, 61},
    {20.0, 61, 61},
}};

} // namespace lull
