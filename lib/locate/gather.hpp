// SPDX-License-Identifier: GPL-3.0-or-later
//
// Collects the measurements of a source by the places of the sensors at the time.
#pragma once

#include "compare/delay.hpp"
#include "compare/ranking.hpp"
#include "locate/listening.hpp"
#include "recording/recording.hpp"

#include <span>
#include <string>
#include <vector>

namespace lull {

/// One event of a source.
struct SourceEvent {
    int event = 0; ///< its number
    double onset_s = 0.0;
};

/// A source to locate: one event, or all events of a series.
struct Source {
    std::string name; ///< "3", "series 2"
    std::vector<SourceEvent> events;
};

/// The listenings of a source, one for each kind: delays and levels of its events combined. A
/// channel that was moved is one sensor for each of its places. Delays are rounded to the
/// resolution of the tables. A delay longer than distance and lowest speed allow is left out, with
/// a notice.
/// \param delays, ranking  of all events, in any order; those of other sources are ignored
[[nodiscard]] std::vector<Listening> gather_listenings(const Source& source,
                                                       const Recording& recording,
                                                       std::span<const DelayEstimate> delays,
                                                       std::span<const RankRow> ranking,
                                                       std::vector<Notice>& notices);

/// Checks that the session can locate anything. \return a notice when the layout looks like
/// millimetres
/// \throws Error(input) when fewer than two channels have a position, or two of a kind have the
///         same
[[nodiscard]] std::vector<Notice> check_positions(const Recording& recording);

/// Whether check_positions() succeeds.
[[nodiscard]] bool has_positions(const Recording& recording);

} // namespace lull
