// SPDX-License-Identifier: GPL-3.0-or-later
//
// Exercises made from a plan, each in a folder of its own.
#pragma once

#include "review/progress.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace lull {

struct ExerciseRequest {
    std::string plan_file;
    std::string folder;
    std::optional<std::uint64_t> seed; ///< none: the plan's own
    int variants = 1;                  ///< more than one: folders variant-1, variant-2, ...
    std::string run;                   ///< line for run.log
};

struct ExerciseOutcome {
    int events = 0;
    int not_reached = 0; ///< events whose target SNR could not be reached
    bool cries = false;
};

/// \throws Error of every kind, and whatever `progress` throws; the folder then does not appear
ExerciseOutcome make_exercises(const ExerciseRequest& request, const ProgressSink& progress);

} // namespace lull
