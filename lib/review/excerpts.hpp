// SPDX-License-Identifier: GPL-3.0-or-later
//
// A folder of excerpts of the events of a table.
#pragma once

#include "account/disclosure.hpp"
#include "recording/recording.hpp"
#include "report/excerpt.hpp"
#include "review/progress.hpp"

#include <string>
#include <vector>

namespace lull {

struct ExcerptsRequest {
    std::string events_file;
    std::string folder;
    ExcerptKind kind = ExcerptKind::channel;
    std::vector<std::string> pair; ///< names of the two channels, for ExcerptKind::pair
    std::string run;               ///< line for run.log
    Disclosure disclosure = {};    ///< what of it may be handed on
};

/// \return how many events were left out, because their sound may not be handed on
/// \throws Error of every kind, and whatever `progress` throws; the folder then does not appear
int write_excerpts(const Recording& recording, const ExcerptsRequest& request,
                   const ProgressSink& progress);

} // namespace lull
