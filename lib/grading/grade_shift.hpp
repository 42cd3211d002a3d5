// SPDX-License-Identifier: GPL-3.0-or-later
//
// The clock of a sheet: the writer's reaction time, and whether the clock was wrong.
#pragma once

#include "grading/grade_rules.hpp"
#include "grading/score.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Where answers to one event may lie.
struct AnswerWindow {
    double onset_s = 0.0;
    double from_s = 0.0, to_s = 0.0;
    double tolerance_s = 0.0; ///< of the onset
};

/// The shift of a whole sheet, separated into clock and person as far as possible.
struct SheetShift {
    double total_s = 0.0;         ///< subtracted from every time of the sheet; 0: times as written
    double offset_s = 0.0;        ///< of the clock: whole minutes, or a wrong start
    std::optional<double> bias_s; ///< of the person; empty: cannot be separated from the offset
    std::optional<double> bias_low_s, bias_high_s; ///< 95 %, for at least six pairs
    int pairs = 0;                                 ///< number used for the estimate
    int pairs_as_written = 0;
    std::string words; ///< the result for people
};

/// Finds the shift under which most answers fall into windows, and refines it by the median of
/// their distances to the onsets. At least three pairs are needed to apply it. Beyond the reaction
/// limit it must also give at least two more pairs than the times as written, and one that chance
/// would give in fewer than 1 of 100 sheets (binomial over the share of the recording that windows
/// cover, times the number of shifts tried).
/// Up to the reaction limit the whole shift is bias. Beyond it, if the difference to the nearest
/// whole minute is within that limit, the difference is bias and the minutes are offset; else all
/// of it is offset and the bias is unknown.
/// \param times_s     of the answers
/// \param windows     of the events, in any order
/// \param duration_s  of the recording, > 0
[[nodiscard]] SheetShift estimate_shift(std::span<const double> times_s,
                                        std::span<const AnswerWindow> windows, double duration_s,
                                        const GradeRules& rules);

} // namespace lull
