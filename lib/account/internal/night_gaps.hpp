// SPDX-License-Identifier: GPL-3.0-or-later
//
// What was not analysed of a night.
#pragma once

#include "account/night.hpp"

#include <vector>

namespace lull {

/// Files that were skipped, cut short or damaged, gaps and overlaps between files, and what lies
/// outside the chosen time and channels.
[[nodiscard]] std::vector<NotAnalysed> not_analysed(const Recording& recording, double from_s,
                                                    double to_s);

} // namespace lull
