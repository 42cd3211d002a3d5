// SPDX-License-Identifier: GPL-3.0-or-later
//
// Events compared between channels: ranking, delays, clocks.
#pragma once

#include "compare/clocks.hpp"
#include "compare/delay.hpp"
#include "compare/ranking.hpp"
#include "review/analysis.hpp"

#include <functional>
#include <span>
#include <vector>

namespace lull {

struct Comparison {
    std::vector<RankRow> ranking;
    std::vector<DelayEstimate> delays;
    std::vector<ClockRow> clocks;
};

/// One event compared, as far as it was asked for.
struct Compared {
    std::vector<PeakEnergy> energies;  ///< a channel each
    std::vector<DelayEstimate> delays; ///< before clocks are applied
};

struct CompareWanted {
    bool energies = true, delays = true;
};

/// Compares events over the channels, decoding only their surroundings, and hands each on in order:
/// nothing is kept.
/// \param courses  a channel each: the noise floor comes from them
void compare_each(const Recording& recording, const Settings& settings,
                  const std::vector<Course>& courses, std::span<const EventSpan> events,
                  CompareWanted wanted, int jobs, const ProgressSink& progress,
                  const std::function<void(const EventSpan&, Compared&&)>& take);

/// Clocks of the recorders, those that nothing else ties tied by what both heard.
[[nodiscard]] std::vector<ClockRow> tied_clocks(const Recording& recording,
                                                const Settings& settings,
                                                std::span<const EventSpan> events, int jobs,
                                                const ProgressSink& progress);

/// Events as a table of events gives them.
[[nodiscard]] std::vector<EventSpan> spans_of(const std::vector<Event>& events);

/// Of the events of an analysis those that are compared: all of confidence 0.5 and more, and of the
/// others the strongest of each hour. \param notices  gains one for each hour in which others were
/// left out
[[nodiscard]] std::vector<EventSpan> spans_to_compare(const std::vector<Event>& events,
                                                      std::vector<Notice>& notices);

/// Compares events over the channels, decoding only their surroundings.
/// \param courses   a channel each: the noise floor comes from them
/// \param findings  faults of the channels: those whose levels mislead are not ranked as comparable
[[nodiscard]] Comparison compare_events(const Recording& recording, const Settings& settings,
                                        const std::vector<Course>& courses,
                                        const std::vector<Finding>& findings,
                                        const std::vector<EventSpan>& events, int jobs,
                                        const ProgressSink& progress);

} // namespace lull
