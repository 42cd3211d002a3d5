// SPDX-License-Identifier: GPL-3.0-or-later
//
// What this program would have listed, and where, in the folder of a review.
#pragma once

#include "report/folder.hpp"
#include "report/report_data.hpp"
#include "review/analysis.hpp"

#include <vector>

namespace lull {

/// A review asks for a sound that stands this far over the middle channel's floor at 1 m, repeated
/// so often: a faint one, so that the map tells where it is lost; levels of a site's own sources
/// are not known to it. lull-audibility asks for others.
inline constexpr double asked_over_floor_db = 25.0;
inline constexpr int asked_times = 1;

/// Adds the table audibility, for knocks and for voices where channels of their kind have a
/// position: every placement of the sensors over the whole recording, and the longest quiet periods
/// (at most 24). Writes a map of each placement to maps/. \return the maps, for the page
std::vector<PlacePicture> add_audibility(const Analysis& found, const Recording& recording,
                                         std::vector<Table>& tables, OutputFolder& folder,
                                         const Language& language);

} // namespace lull
