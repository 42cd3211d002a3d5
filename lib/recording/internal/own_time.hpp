// SPDX-License-Identifier: GPL-3.0-or-later
//
// The recording time that a file carries.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/start_time.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

struct OwnTime {
    std::optional<CivilTime> time; ///< empty: the file carries no time
    std::string source;            ///< "miniSEED records", "bext chunk" or "file name"
    bool exact = false;            ///< to the sample; it places the file by itself
};

/// From the records of miniSEED or the broadcast-wave chunk, else from the name. A name with an
/// ambiguous day and month gives no time, and a notice.
[[nodiscard]] OwnTime own_time(const AudioInfo& info, const std::string& label,
                               std::vector<Notice>& notices);

} // namespace lull
