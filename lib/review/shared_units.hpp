// SPDX-License-Identifier: GPL-3.0-or-later
//
// One review on several machines: each does some units of work into a folder, and one joins them.
#pragma once

#include "review/review_folder.hpp"
#include "review/unit_store.hpp"

#include <string>
#include <utility>

namespace lull {

/// Does the units of work whose numbers lie in [numbers.first, numbers.second] and keeps each as a
/// file of request.folder. A unit that lies there already, of the same program, settings and
/// content of the inputs, is not done again. Several processes may share the folder. Of the request
/// it heeds folder, settings, jobs and program.
/// \return how many units lay there already
/// \throws Error(output) for a folder that holds anything but units, Error(usage) for numbers of
///         which there is no unit
int do_units(Recording& recording, const ReviewRequest& request, std::pair<int, int> numbers,
             const ProgressSink& progress);

/// \throws Error(input) naming the units that none of request.gathered holds
void need_every_unit(const UnitStore& store, const Recording& recording,
                     const ReviewRequest& request);

/// The units of a recording, a line each: number, begin and end of what it owns in seconds.
[[nodiscard]] std::string units_text(const Recording& recording, const Settings& settings);

} // namespace lull
