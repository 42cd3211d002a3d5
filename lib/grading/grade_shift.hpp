// SPDX-License-Identifier: GPL-3.0-or-later
//
// The clock of a sheet: how late its writer presses, and whether the clock itself was wrong.
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

/// The shift of a whole sheet, told apart as far as it can be.
struct SheetShift {
    double total_s = 0.0;         ///< taken off every time of the sheet; 0: taken as written
    double offset_s = 0.0;        ///< of the clock: whole minutes, or an odd start
    std::optional<double> bias_s; ///< of the person; none: cannot be told from the offset
    std::optional<double> bias_low_s, bias_high_s; ///< 95 %, where six pairs or more are there
    int pairs = 0;                                 ///< that it was estimated from
    int pairs_as_written = 0;
    std::string words; ///< what was found, for people
};

/// Finds the shift under which most answers fall into windows, and refines it by the median of
/// their distances to the onsets. It is taken out only with three pairs or more. Beyond the
/// reaction limit it must also bring at least two pairs more than the times as written, and be such
/// as chance would bring in fewer than 1 of 100 sheets (binomial over the share of the recording
/// that windows cover, times the shifts tried). Told apart: up to the reaction limit all of it is
/// bias; else what is left beside the nearest whole minute is bias if it is within that limit, and
/// the minutes are offset; else all of it is offset and the bias is not known. \param times_s of
/// the answers \param windows     of the events, in any order \param duration_s  of the recording,
/// > 0
[[nodiscard]] SheetShift estimate_shift(std::span<const double> times_s,
                                        std::span<const AnswerWindow> windows, double duration_s,
                                        const GradeRules& rules);

} // namespace lull
