// SPDX-License-Identifier: GPL-3.0-or-later
//
// An exercise as a folder: what the trainee gets, and what the instructor keeps.
#pragma once

#include "synthesis/scene.hpp"

#include <functional>
#include <string>
#include <string_view>

namespace lull {

struct ExerciseSummary {
    int events = 0;
    int not_reached =
        0; ///< events whose target the noise or the limit did not allow; notes.txt names them
    bool cries = false; ///< cries or screams are in it: warn before playing
};

/// Writes one exercise under `folder`, which must exist and be empty:
/// trainee/ recording.wav (or .flac), session.json, sheet.csv, READ-FIRST.txt;
/// instructor/ truth.csv, surroundings.csv, notes.txt, plan.json.
/// Streams: memory does not depend on the plan's duration.
/// \param progress  called with frames done and frames in all, a few times a second of work; may be
/// empty \throws Error(output), Error(input) when a file of the plan cannot be used
ExerciseSummary make_exercise(const Plan& plan, std::uint64_t seed, int variant,
                              const std::string& folder,
                              const std::function<void(Frame done, Frame all)>& progress = {});

/// The trainee's session file for a plan: channels and places as stated, nothing of what is to be
/// heard.
[[nodiscard]] std::string session_text(const Plan& plan, std::uint64_t seed, int variant,
                                       const std::string& recording_file);
/// truth.csv: one row an event; knocks of one group are one event.
[[nodiscard]] std::string truth_text(const Scene& scene);
/// surroundings.csv: the same columns for the site's own sounds, quiet periods, faults, sensors in
/// hand and the tone pattern, in order of time, piece by piece.
void write_surroundings(const Scene& scene, const std::function<void(std::string_view)>& write);
[[nodiscard]] std::string notes_text(const Scene& scene, std::uint64_t seed, int variant);

} // namespace lull
