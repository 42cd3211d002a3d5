// SPDX-License-Identifier: GPL-3.0-or-later
//
// Notices on delays between recorders that could not be used.
#pragma once

#include "compare/delay.hpp"
#include "recording/recording.hpp"

#include <span>
#include <vector>

namespace lull {

/// At most one notice: the recordings between which no delay is used, since their clocks are not
/// tied, and the channels of which only levels are used. Also given when no delay was measured
/// between recordings that the session does not tie.
/// \param delays  after apply_clocks()
[[nodiscard]] std::vector<Notice> untied_clocks(const Recording& recording,
                                                std::span<const DelayEstimate> delays);

} // namespace lull
