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
    bool details = true;            ///< paths, notes, and whatever names people and places
    std::vector<TimeSpan> withheld; ///< of these there is neither sound nor picture
    std::vector<TimeSpan> voices;   ///< voice-like sound: without sound, no picture of it

    /// Whether sound that reaches from one time to another may be handed on.
    [[nodiscard]] bool may_hear(double from_s, double to_s) const;
    /// Whether a picture of that time may.
    [[nodiscard]] bool may_see(double from_s, double to_s) const;
};

/// Where voice-like sound was heard, surroundings of what else was heard at that time among it.
[[nodiscard]] std::vector<TimeSpan> voices_in(const std::vector<Event>& events);

/// Takes out of what reports show of a recording what may name persons and places. Files, those
/// that were skipped among them, become "input 1" or "other file 1", in notices too. Channels are
/// named after places as a rule: they become "channel 1", in the order of the recording, by which
/// whoever has the session can tell them. The session's label and exhibit go.
void hide_details(Recording& recording);

} // namespace lull
