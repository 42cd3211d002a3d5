// SPDX-License-Identifier: GPL-3.0-or-later
//
// What was measured of a source, gathered by where the sensors stood at the time.
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
    int event = 0; ///< number
    double onset_s = 0.0;
};

/// A source to be located: one event, or all events of a series.
struct Source {
    std::string name; ///< "3", "series 2"
    std::vector<SourceEvent> events;
};

/// Listenings of a source, one for each kind: delays and levels of its events combined. A channel
/// that was moved is a sensor for each place where it stood. Delays are taken with the digits that
/// tables show. A delay that is longer than distance and the lowest speed allow is left out, and
/// said so. \param delays, ranking  of all events, in any order; those of other sources are left
/// aside
[[nodiscard]] std::vector<Listening> gather_listenings(const Source& source,
                                                       const Recording& recording,
                                                       std::span<const DelayEstimate> delays,
                                                       std::span<const RankRow> ranking,
                                                       std::vector<Notice>& notices);

/// Checks that the session can place anything.
/// \throws Error(input) when fewer than two channels have a position, or two of a kind have the
/// same. \return a notice when the layout looks like millimetres
[[nodiscard]] std::vector<Notice> check_positions(const Recording& recording);

/// Whether check_positions() would not throw.
[[nodiscard]] bool has_positions(const Recording& recording);

} // namespace lull
