// SPDX-License-Identifier: GPL-3.0-or-later
//
// An exercise as a folder: the part for the trainee and the part for the instructor.
#pragma once

#include "synthesis/scene.hpp"

#include <functional>
#include <string>
#include <string_view>

namespace lull {

struct ExerciseSummary {
    int events = 0;
    int not_reached =
        0; ///< events whose target SNR noise or limit did not allow; notes.txt names them
    bool cries = false; ///< it has cries or screams: warn before playing
};

/// Writes one exercise under `folder`, which must exist and be empty:
/// trainee/ recording.wav (or .flac), session.json, sheet.csv, READ-FIRST.txt;
/// instructor/ truth.csv, surroundings.csv, notes.txt, plan.json.
/// Streams: memory does not depend on the plan's duration.
/// \param progress  called with frames done and total frames a few times a second; may be empty
/// \throws Error(output), Error(input) when a file of the plan cannot be used
ExerciseSummary make_exercise(const Plan& plan, std::uint64_t seed, int variant,
                              const std::string& folder,
                              const std::function<void(Frame done, Frame all)>& progress = {});

/// The trainee's session file for a plan: channels and places as stated, nothing about the events.
[[nodiscard]] std::string session_text(const Plan& plan, std::uint64_t seed, int variant,
                                       const std::string& recording_file);
/// truth.csv: one row an event. Knocks of one group are one event.
[[nodiscard]] std::string truth_text(const Scene& scene);
/// Writes surroundings.csv in parts: the columns of truth.csv for the site's own sounds, quiet
/// periods, faults, sensors in hand and the tone pattern, in order of time.
void write_surroundings(const Scene& scene, const std::function<void(std::string_view)>& write);
[[nodiscard]] std::string notes_text(const Scene& scene, std::uint64_t seed, int variant);

} // namespace lull
