// SPDX-License-Identifier: GPL-3.0-or-later
//
// The class page: who heard what, for a training officer.
#pragma once

#include "grading/grade.hpp"
#include "grading/grade_group.hpp"
#include "report/table.hpp"

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

struct ClassPage {
    const Grade& grade;
    std::string_view marked;                 ///< as of score_card
    std::string sound;                       ///< whose sound it is; empty: none is at hand
    std::vector<std::string> cards;          ///< the file of each listener's card
    std::span<const LearningPoint> learning; ///< empty: no earlier exercise is known
    std::span<const Table> tables;           ///< of what else was compared, shown as they are
};

/// A whole HTML document that runs no script: scores in sentences with the statistics folded under
/// them, trainees by events with their sound, false calls, progress, further tables. Whatever a
/// colour says, a symbol and a word say too. Sound lies in excerpts/ beside it.
[[nodiscard]] std::string class_page(const ClassPage& page);

} // namespace lull
