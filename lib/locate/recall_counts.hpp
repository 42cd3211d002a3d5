// SPDX-License-Identifier: GPL-3.0-or-later
//
// Written by scripts/measure_recall.py; not to be edited. The command:
//   scripts/measure_recall.py BUILD --scenes 34 --write    (seeds from 900000 on)
#pragma once

#include "locate/recall_curve.hpp"

#include <array>

namespace lull {

inline constexpr std::array<RecallCount, 9> knock_counts{{
    {-6.0, 4, 275},
    {-3.0, 22, 277},
    {0.0, 68, 276},
    {3.0, 108, 266},
    {5.0, 154, 265},
    {6.0, 167, 270},
    {10.0, 196, 264},
    {15.0, 217, 266},
    {20.0, 244, 273},
}};
inline constexpr std::array<RecallCount, 9> voice_counts{{
    {-6.0, 5, 261},
    {-3.0, 11, 265},
    {0.0, 68, 265},
    {3.0, 162, 265},
    {5.0, 207, 264},
    {6.0, 209, 267},
    {10.0, 228, 266},
    {15.0, 244, 275},
    {20.0, 238, 261},
}};

} // namespace lull
