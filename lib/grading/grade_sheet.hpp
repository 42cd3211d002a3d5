// SPDX-License-Identifier: GPL-3.0-or-later
//
// One sheet against the truth.
#pragma once

#include "grading/grade.hpp"

namespace lull {

/// What all sheets of one exercise share.
struct GradeScene {
    const Truth& truth;
    const GradeRules& rules;
    std::span<const Slot> slots;
    double duration_s = 0.0; ///< > 0: as known, or the end of the last thing
};

/// Pairs the answers with the events at a given shift. Events asked for are paired first: as many
/// as possible, then at the least cost, |time - onset| / tolerance (at most 1) + 0.5 when the
/// stated kinds differ + 0.25 when the channels do. The remaining answers are paired with events
/// not asked for, and then with events that have an answer already (repeats).
[[nodiscard]] std::vector<GradedAnswer> grade_answers(const Sheet& sheet, double shift_s,
                                                      const GradeScene& scene);

[[nodiscard]] SheetTally tally(std::span<const GradedAnswer> answers, const GradeScene& scene);

/// \param number  of the sheet from 1, for names of excerpts; 0: the program's own
[[nodiscard]] ListenerGrade grade_sheet(const Sheet& sheet, int number, const GradeScene& scene);

/// Whether these rules ask for an event.
[[nodiscard]] bool is_asked(const TruthEvent& event, const GradeRules& rules);

/// Where an event is to be heard again.
[[nodiscard]] ExcerptReference excerpt_of(const TruthEvent& event);

/// The entries of truth and notes at a time, as text, the shortest first.
[[nodiscard]] std::string what_was_there(double time_s, const GradeScene& scene);

} // namespace lull
