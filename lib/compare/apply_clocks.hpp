// SPDX-License-Identifier: GPL-3.0-or-later
//
// Delays between recorders, each with a clock of its own.
#pragma once

#include "compare/clocks.hpp"
#include "compare/delay.hpp"

#include <span>
#include <vector>

namespace lull {

/// Puts delays between channels of different clocks on the reference clock: recorder time + offset
/// = reference time, the offset at the event's time, the residual of both ties added to the sigma.
/// Where a clock is not tied, or nobody can say how well (fewer than three checks), the delay is
/// not usable and says why: levels remain. Channels of one recording whose own offsets agree share
/// a clock. \param events  onsets; \param clocks as clocks_of() gives them
void apply_clocks(std::span<DelayEstimate> delays, std::span<const EventSpan> events,
                  const Recording& recording, std::span<const ClockRow> clocks);

/// Whether a delay is not usable for the sake of its recorders' clocks. Its reason tells, so that
/// it can be asked of a table that was written.
[[nodiscard]] bool is_untied(const DelayEstimate& delay);

} // namespace lull
