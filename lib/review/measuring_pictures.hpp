// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pictures of what was measured: noise in third octaves, and fitness over time.
#pragma once

#include "review/analysis.hpp"

#include <string>

namespace lull {

/// SVG of the rows of the noise table, powers of several intervals averaged.
[[nodiscard]] std::string noise_picture(const Analysis& found, const Recording& recording);
/// SVG of the findings.
[[nodiscard]] std::string fitness_picture(const Analysis& found, const Recording& recording);

} // namespace lull
