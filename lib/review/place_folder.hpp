// SPDX-License-Identifier: GPL-3.0-or-later
//
// Places in the folder of a review.
#pragma once

#include "report/folder.hpp"
#include "report/report_data.hpp"
#include "review/comparison.hpp"
#include "review/place.hpp"

#include <optional>
#include <vector>

namespace lull {

/// Locates the events of an analysis; nothing when too few channels have a position. What a person
/// must be told is added to the recording's notices.
[[nodiscard]] std::optional<Placing> place_events(Recording& recording,
                                                  const std::vector<Event>& events,
                                                  const Comparison& compared, int jobs,
                                                  const ProgressSink& progress);

/// Adds the tables locations and, where the session has a grid, cells; writes a map of each place
/// that has one to maps/. \return the maps, for the page
std::vector<PlacePicture> add_places(const Placing& placing, const Recording& recording,
                                     std::vector<Table>& tables, OutputFolder& folder,
                                     const Language& language);

} // namespace lull
