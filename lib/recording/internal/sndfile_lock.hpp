// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <mutex>

namespace lull {

/// libsndfile keeps the reason of a failed open in a process-wide variable. Hold this lock round
/// every open and the reading of its reason.
[[nodiscard]] inline std::mutex& sndfile_open_mutex() {
    static std::mutex mutex;
    return mutex;
}

} // namespace lull
