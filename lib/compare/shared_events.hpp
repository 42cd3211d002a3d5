// SPDX-License-Identifier: GPL-3.0-or-later
//
// Clocks of recorders tied by the events that several of them heard.
#pragma once

#include "compare/clocks.hpp"
#include "compare/delay.hpp"

#include <span>
#include <vector>

namespace lull {

/// The events that clocks are tied by: all of them, or of very many some runs of those that follow
/// each other, spread over all the time. No more are needed, and time and memory stay bounded.
[[nodiscard]] std::vector<EventSpan> tying_events(std::span<const EventSpan> events);

/// Whether any recording is left to be tied by events.
[[nodiscard]] bool need_tie(std::span<const ClockRow> clocks);

/// Ties recordings that nothing else ties. The reference is the first recording that is tied, else
/// the first of all, which then reads "reference". Of events that both recorders are in, delays
/// that can be used give the difference of the clocks; where there are fewer than three such
/// events, onsets of events that only one of them is in are laid over each other: the offset and
/// drift on which most fall together, if they are more than chance gives and no other offset comes
/// near (knocks in a strict rhythm fit themselves an interval away). Then a line through the pairs,
/// those left out that do not fit it. What lies between two recorders of a wave is unknown within
/// what distance and the lowest speed allow, the same for each knock of one source: sigma_s holds
/// that, as an even spread, beside the scatter of the pairs. Needs recordings side by side; those
/// that follow each other share no event.
/// \param delays  of the events, before clocks are applied
void tie_by_shared_events(std::vector<ClockRow>& clocks, std::span<const EventSpan> events,
                          std::span<const DelayEstimate> delays, const Recording& recording);

} // namespace lull
