// SPDX-License-Identifier: GPL-3.0-or-later
//
// What of a find is shown and played: its spectrogram and its excerpt.
#pragma once

#include "account/account.hpp"
#include "report/folder.hpp"
#include "report/report_data.hpp"
#include "review/progress.hpp"

#include <vector>

namespace lull {

struct Illustrations {
    std::vector<Excerpt> excerpts;
    std::vector<SoundScript> sounds;
    std::vector<FindPicture> pictures;
    std::vector<Notice> notices; ///< one where there is sound for some finds only
};

/// Makes both for the finds that are shown one by one, from the channel that heard each best, as
/// far as the account's disclosure allows. Excerpts are written into the folder's excerpts/.
[[nodiscard]] Illustrations illustrate(const Account& account, OutputFolder& folder, int jobs,
                                       const ProgressSink& progress);

} // namespace lull
