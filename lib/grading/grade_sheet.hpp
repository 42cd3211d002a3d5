// SPDX-License-Identifier: GPL-3.0-or-later
//
// One sheet against the truth.
#pragma once

#include "grading/grade.hpp"

namespace lull {

/// Everything that is the same for all sheets of one exercise.
struct GradeScene {
    const Truth& truth;
    const GradeRules& rules;
    std::span<const Slot> slots;
    double duration_s = 0.0; ///< > 0: known, or where the last thing ends
};

/// Pairs the answers with the events at a given shift. Events asked for are paired first: as many
/// as can be, then at the least cost, |time - onset| / tolerance (1 at most) + 0.5 when the kinds
/// stated differ + 0.25 when the channels do. Answers left over are paired with events not asked
/// for, and what is still left with events already answered (repeats).
[[nodiscard]] std::vector<GradedAnswer> grade_answers(const Sheet& sheet, double shift_s,
                                                      const GradeScene& scene);

[[nodiscard]] SheetTally tally(std::span<const GradedAnswer> answers, const GradeScene& scene);

/// \param number  of the sheet from 1, in names of excerpts; 0: the program's own
[[nodiscard]] ListenerGrade grade_sheet(const Sheet& sheet, int number, const GradeScene& scene);

/// Whether an event has to be written down under these rules.
[[nodiscard]] bool is_asked(const TruthEvent& event, const GradeRules& rules);

/// What truth and notes have at a moment, in words: the shortest-lived things first.
[[nodiscard]] std::string what_was_there(double time_s, const GradeScene& scene);

} // namespace lull
