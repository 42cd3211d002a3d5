// SPDX-License-Identifier: GPL-3.0-or-later
//
// One more pass, for the page: the sound of the whole recording, packed, and a picture of it.
#pragma once

#include "account/account.hpp"
#include "report/folder.hpp"
#include "report/report_data.hpp"
#include "review/progress.hpp"

#include <vector>

namespace lull {

struct Packed {
    std::vector<SoundScript> sounds; ///< in order of time
    std::vector<Overview> overview;  ///< a channel each; none where it was not wanted
};

/// Writes sound/, as far as the account's disclosure allows: what is withheld is silent. Columns of
/// the pictures that may not be seen are blank.
/// \param overview  whether pictures are wanted
[[nodiscard]] Packed pack_recording(const Account& account, bool overview, OutputFolder& folder,
                                    int jobs, const ProgressSink& progress);

} // namespace lull
