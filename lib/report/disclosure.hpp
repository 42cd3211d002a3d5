// SPDX-License-Identifier: GPL-3.0-or-later
//
// What of a recording a report may hand on: recordings of a search hold the voices of persons.
#pragma once

#include "detect/event.hpp"
#include "recording/recording.hpp"

#include <string>
#include <vector>

namespace lull {

/// A stretch of the time line [s].
struct TimeSpan {
    double from_s = 0.0, to_s = 0.0;
};

struct Disclosure {
    bool sound = true;              ///< excerpts, and pictures of voice-like sound
    bool details = true;            ///< paths, notes, people and coordinates
    std::vector<TimeSpan> withheld; ///< of these there is neither sound nor picture

    /// Whether sound that reaches from one time to another may be handed on.
    [[nodiscard]] bool may_hear(double from_s, double to_s) const;
    /// Whether a picture of such sound may.
    [[nodiscard]] bool may_see(EventKind kind, double from_s, double to_s) const;
};

/// Stretches to withhold: a CSV table with from_s and to_s. \throws Error(input) naming the line of
/// a time that is none or upside down
[[nodiscard]] std::vector<TimeSpan> read_withheld(const std::string& file);

/// Takes the names of files out of what reports show of a recording, those that were skipped among
/// them: they become "input 1" or "other file 1", in notices too.
void hide_details(Recording& recording);

} // namespace lull
