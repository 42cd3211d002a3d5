// SPDX-License-Identifier: GPL-3.0-or-later
//
// The second pass: what was found once, clear and in a series, is searched for in all of the
// recording, so that weaker repeats come out of the noise.
//
// It runs when there is a clear series (detect/tap_template.hpp), over the same units of work as
// the first pass, and decodes the recording once more. Nothing of it is kept in the journal: it is
// repeated when a run is resumed.
#pragma once

#include "review/analysis.hpp"
#include "review/progress.hpp"

namespace lull {

/// Searches for the clear series of an analysis and adds what is found to its events and series.
/// The result depends on recording, settings and analysis alone. \param analysis  with events,
/// series and courses, every event still in it \throws Error(input) when an input can no longer be
/// read, and whatever `progress` throws
void search_again(Analysis& analysis, const Recording& recording, int jobs,
                  const ProgressSink& progress);

} // namespace lull
