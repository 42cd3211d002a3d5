// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a report may hand on of a recording. Recordings of a search hold the voices of persons.
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
    bool sound = true;   ///< excerpts, and pictures of voice-like sound, may be handed on
    bool details = true; ///< paths, notes, and other text that names people and places may be
    std::vector<TimeSpan> withheld; ///< neither sound nor picture of these may be
    std::vector<TimeSpan> voices;   ///< voice-like sound; no picture of it where `sound` is false

    /// Whether sound that lasts from one time to the other may be handed on.
    [[nodiscard]] bool may_hear(double from_s, double to_s) const;
    /// Whether a picture of that time may be handed on.
    [[nodiscard]] bool may_see(double from_s, double to_s) const;
};

/// The times of the voice-like events.
[[nodiscard]] std::vector<TimeSpan> voices_in(const std::vector<Event>& events);

/// Removes from a recording what may name persons and places, as reports show it. Files, skipped
/// ones included, become "input 1" or "other file 1", in notices too. Channels are usually named
/// after places; they become "channel 1" and so on, in the order of the recording, so that whoever
/// has the session can identify them. The session's label and exhibit are removed.
void hide_details(Recording& recording);

} // namespace lull
