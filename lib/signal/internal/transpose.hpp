// SPDX-License-Identifier: GPL-3.0-or-later
//
// Converts between eight consecutive channels and eight channels side by side.
#pragma once

#include "signal/internal/lanes.hpp"

namespace lull {

/// Sample n of row c becomes sample c of row n: exchanges neighbours, then pairs, then fours. Each
/// step is one instruction a row where vectors hold eight floats.
inline __attribute__((always_inline)) void transpose(FloatLanes (&rows)[float_lanes]) {
    FloatLanes ones[float_lanes], pairs[float_lanes];
    for (int i = 0; i < float_lanes; i += 2) {
        const FloatLanes &a = rows[i], &b = rows[i + 1];
        ones[i] = __builtin_shufflevector(a, b, 0, 8, 1, 9, 4, 12, 5, 13);
        ones[i + 1] = __builtin_shufflevector(a, b, 2, 10, 3, 11, 6, 14, 7, 15);
    }
    for (int i = 0; i < float_lanes; i += 4)
        for (int k = 0; k < 2; ++k) {
            const FloatLanes &a = ones[i + k], &b = ones[i + k + 2];
            pairs[i + 2 * k] = __builtin_shufflevector(a, b, 0, 1, 8, 9, 4, 5, 12, 13);
            pairs[i + 2 * k + 1] = __builtin_shufflevector(a, b, 2, 3, 10, 11, 6, 7, 14, 15);
        }
    for (int i = 0; i < 4; ++i) {
        const FloatLanes &a = pairs[i], &b = pairs[i + 4];
        rows[i] = __builtin_shufflevector(a, b, 0, 1, 2, 3, 8, 9, 10, 11);
        rows[i + 4] = __builtin_shufflevector(a, b, 4, 5, 6, 7, 12, 13, 14, 15);
    }
}

} // namespace lull
