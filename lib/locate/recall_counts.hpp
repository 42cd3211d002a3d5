// SPDX-License-Identifier: GPL-3.0-or-later
//
// Written by scripts/measure_recall.py; not to be edited. The command:
//   scripts/measure_recall.py BUILD --scenes 34 --write    (seeds from 900000 on)
#pragma once

#include "locate/recall_curve.hpp"

#include <array>

namespace lull {

inline constexpr std::array<RecallCount, 9> knock_counts{{
    {-6.0, 9, 270},
    {-3.0, 27, 265},
    {0.0, 87, 264},
    {3.0, 151, 264},
    {5.0, 153, 270},
    {6.0, 156, 272},
    {10.0, 194, 266},
    {15.0, 245, 274},
    {20.0, 236, 268},
}};
inline constexpr std::array<RecallCount, 9> voice_counts{{
    {-6.0, 3, 264},
    {-3.0, 11, 265},
    {0.0, 85, 258},
    {3.0, 181, 269},
    {5.0, 202, 262},
    {6.0, 212, 260},
    {10.0, 220, 260},
    {15.0, 227, 267},
    {20.0, 237, 259},
}};

} // namespace lull
