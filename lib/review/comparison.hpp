// SPDX-License-Identifier: GPL-3.0-or-later
//
// Events compared between channels: ranking, delays, clocks.
#pragma once

#include "compare/clocks.hpp"
#include "compare/delay.hpp"
#include "compare/ranking.hpp"
#include "review/analysis.hpp"

#include <span>
#include <vector>

namespace lull {

struct Comparison {
    std::vector<RankRow> ranking;
    std::vector<DelayEstimate> delays;
    std::vector<ClockRow> clocks;
};

/// The events of an analysis, as a table of events gives them.
[[nodiscard]] std::vector<EventSpan> spans_of(const std::vector<Event>& events);

/// Compares events over the channels, decoding only their surroundings.
/// \param courses   a channel each: the noise floor comes from them
/// \param findings  faults of the channels: those whose levels mislead are not ranked as comparable
[[nodiscard]] Comparison compare_events(const Recording& recording, const Settings& settings,
                                        const std::vector<Course>& courses,
                                        const std::vector<Finding>& findings,
                                        const std::vector<EventSpan>& events, int jobs,
                                        const ProgressSink& progress);

} // namespace lull
