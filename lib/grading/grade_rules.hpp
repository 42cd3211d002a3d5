// SPDX-License-Identifier: GPL-3.0-or-later
//
// The rules of grading. All of them are in a file (data/grading/weights.json), which the training
// officer decides on. There is no pass mark.
#pragma once

#include "detect/event.hpp"

#include <array>
#include <string>

namespace lull {

/// A value for each kind of event, in the order of EventKind.
template <typename T>
using PerKind = std::array<T, 4>;

template <typename T>
[[nodiscard]] const T& of_kind(const PerKind<T>& values, EventKind kind) {
    return values[static_cast<std::size_t>(kind)];
}

struct GradeRules {
    /// Largest distance of an answer from the onset, in both directions [s]; wide, since people
    /// write by hand.
    PerKind<double> onset_tolerance_s{2.0, 3.0, 3.0, 3.0};
    /// Whether an event of this kind without an answer is a miss. Answers to other kinds are not
    /// false calls.
    PerKind<bool> asked{true, true, false, true};
    /// Whether an answer between onset and end counts for the event even beyond the tolerance.
    bool anywhere_within_event = true;
    /// Whether a further line for an event with an answer is a false call; if not, it does not
    /// count.
    bool repeats_are_false_calls = false;

    double points_heard = 1.0, points_kind = 0.5, points_channel = 0.5, points_place = 0.5;
    double points_false_call = -0.5; ///< at most 0
    double place_limit_m = 3.0;      ///< a place within this earns points_place

    /// A shift of a whole sheet up to this is reaction time; beyond it, a wrong clock.
    double reaction_limit_s = 2.0;
    double slot_s = 10.0;             ///< length of a listening slot, when no slots are given
    double guess = 0.0, lapse = 0.02; ///< of the hearing curve, fixed
    double confidence_from = 0.5;     ///< a program's own finds below this are not graded

    double log_before_s = 5.0; ///< a log entry may precede its event by this (clocks differ),
    double log_after_s = 60.0; ///< and follow it by this (logs are written by the minute)
};

/// Reads a weights file (schema data/schema/grade-weights.schema.json). What it omits keeps the
/// values above. \throws Error(input) naming the place
[[nodiscard]] GradeRules load_grade_rules(const std::string& path);

} // namespace lull
