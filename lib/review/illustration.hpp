// SPDX-License-Identifier: GPL-3.0-or-later
//
// What of an event is shown and played: its spectrogram and its excerpt.
#pragma once

#include "report/disclosure.hpp"
#include "report/folder.hpp"
#include "report/report_data.hpp"
#include "review/progress.hpp"

#include <vector>

namespace lull {

struct Illustrations {
    std::vector<Excerpt> excerpts;
    std::vector<SoundScript> sounds;
    std::vector<EventPicture> pictures;
};

/// Makes both for the events that the page shows one by one, most deserving first, from the channel
/// that heard each best, as far as `disclosure` allows. Excerpts are written into the folder's
/// excerpts/.
[[nodiscard]] Illustrations illustrate(const Recording& recording, const std::vector<Event>& events,
                                       const Disclosure& disclosure, OutputFolder& folder, int jobs,
                                       const ProgressSink& progress);

} // namespace lull
