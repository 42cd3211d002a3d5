// SPDX-License-Identifier: GPL-3.0-or-later
//
// What of a night was not analysed.
#pragma once

#include "account/night.hpp"

#include <vector>

namespace lull {

/// Files skipped, cut short and damaged, gaps and overlaps between files, what the stretch and the
/// choice of channels left out.
[[nodiscard]] std::vector<NotAnalysed> not_analysed(const Recording& recording, double from_s,
                                                    double to_s);

} // namespace lull
