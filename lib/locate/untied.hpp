// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is to be said where delays between recorders could not be used.
#pragma once

#include "compare/delay.hpp"
#include "recording/recording.hpp"

#include <span>
#include <vector>

namespace lull {

/// At most one notice: recordings between which no delay is used since their clocks are not tied,
/// and the channels of which therefore only levels are. Also when no delay was measured between
/// recordings that the session does not tie. \param delays  as apply_clocks() left them
[[nodiscard]] std::vector<Notice> untied_clocks(const Recording& recording,
                                                std::span<const DelayEstimate> delays);

} // namespace lull
