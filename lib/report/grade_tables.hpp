// SPDX-License-Identifier: GPL-3.0-or-later
//
// Grades as tables. Every figure that is estimated has its 95 % interval in the two columns after
// it.
#pragma once

#include "grading/grade.hpp"
#include "grading/grade_group.hpp"
#include "grading/grade_log.hpp"
#include "grading/grade_names.hpp"
#include "report/table.hpp"

#include <span>
#include <string>
#include <vector>

namespace lull {

/// One row a listener, then one `all` for the group, then one `program` if it was graded. No ranks.
[[nodiscard]] Table scores_table(const Grade& grade);
/// Every line of every sheet: what became of it, and for false calls what was really there.
[[nodiscard]] Table answers_table(const Grade& grade);
[[nodiscard]] Table misses_table(const Grade& grade);
[[nodiscard]] Table
heard_table(const Grade& grade); ///< one row an event: who heard it, at which SNR
/// One row a listener and event: whether it was heard, and what was written. For spreadsheets.
[[nodiscard]] Table class_table(const Grade& grade);
[[nodiscard]] Table curves_table(const Grade& grade); ///< hearing thresholds of listeners and group
[[nodiscard]] Table apart_table(const Grade& grade);  ///< pairs whose F intervals do not overlap
[[nodiscard]] Table faults_table(const Grade& grade); ///< what could not be read
[[nodiscard]] Table learning_table(std::span<const LearningPoint> points);
[[nodiscard]] Table log_table(std::span<const LogFinding> findings);
[[nodiscard]] Table agreement_table(const ReviewerAgreement& agreement);
/// pseudonym, name. For a file of its own, kept apart from the others.
[[nodiscard]] Table key_table(const NameKey& key);

} // namespace lull
