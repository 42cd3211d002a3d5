// SPDX-License-Identifier: GPL-3.0-or-later
//
// Written by scripts/measure_recall.py; not to be edited. The command:
//   scripts/measure_recall.py BUILD --scenes 8 --write    (seeds from 900000 on)
#pragma once

#include "locate/recall_curve.hpp"

#include <array>

namespace lull {

inline constexpr std::array<RecallCount, 9> knock_counts{{
    {-6.0, 7, 64},
    {-3.0, 8, 65},
    {0.0, 20, 64},
    {3.0, 29, 59},
    {5.0, 45, 62},
    {6.0, 40, 63},
    {10.0, 57, 59},
    {15.0, 46, 62},
    {20.0, 64, 69},
}};
inline constexpr std::array<RecallCount, 9> voice_counts{{
    {-6.0, 0, 62},
    {-3.0, 5, 62},
    {0.0, 24, 63},
    {3.0, 26, 62},
    {5.0, 45, 60},
    {6.0, 38, 59},
    {10.0, 50, 60},
    {15.0, 38, 62},
    {20.0, 56, 63},
}};

} // namespace lull
