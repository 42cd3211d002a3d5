// SPDX-License-Identifier: GPL-3.0-or-later
//
// The rules that sheets are graded by. All of them stand in a file (data/grading/weights.json): the
// training officer's, not ours. There is no pass mark.
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
    /// How far an answer may lie from the onset, either way [s]; wide, since people write by hand.
    PerKind<double> onset_tolerance_s{2.0, 3.0, 3.0, 3.0};
    /// Whether missing an event of this kind is a miss. Answers to the others are no false calls.
    PerKind<bool> asked{true, true, false, true};
    /// An answer between onset and end stands for the event even beyond the tolerance.
    bool anywhere_within_event = true;
    /// A further line for an event already answered: a false call, or (false) left out of the
    /// score.
    bool repeats_are_false_calls = false;

    double points_heard = 1.0, points_kind = 0.5, points_channel = 0.5, points_place = 0.5;
    double points_false_call = -0.5; ///< 0 or below
    double place_limit_m = 3.0;      ///< a place this near earns points_place

    /// A whole shift of a sheet up to this is a person's reaction time, beyond it a wrong clock.
    double reaction_limit_s = 2.0;
    double slot_s = 10.0;             ///< length of a listening slot, when no slots are given
    double guess = 0.0, lapse = 0.02; ///< of the hearing curve, held fixed
    double confidence_from = 0.5;     ///< a program's own events below this are not graded

    double log_before_s = 5.0; ///< a log entry may precede its event by so much (clocks differ),
    double log_after_s = 60.0; ///< and follow it by so much (logs are written by the minute)
};

/// Reads a weights file (schema data/schema/grade-weights.schema.json); what it leaves out keeps
/// the values above. \throws Error(input) naming the place
[[nodiscard]] GradeRules load_grade_rules(const std::string& path);

} // namespace lull
