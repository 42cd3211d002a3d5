// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everything that a grading leaves: tables, JSON, cards.
#pragma once

#include "exercise/grade.hpp"
#include "report/folder.hpp"
#include "report/table.hpp"

#include <functional>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace lull {

/// What grades were made from and by, for the head of scores.json.
struct GradeProvenance {
    std::vector<std::pair<std::string, std::string>> inputs; ///< name without folder, SHA-256
    GradeRules rules;
};

/// Cuts one excerpt to a file. May throw.
using CutExcerpt = std::function<void(const ExcerptReference& excerpt, const std::string& path)>;

/// The document scores.json ("format": "lull-scores", schema data/schema/scores.schema.json): head,
/// caution, rules, and every table as an array.
[[nodiscard]] std::string grade_json(const Grade& grade, const GradeProvenance& provenance,
                                     std::span<const Table> tables);

/// Writes scores.csv and the other tables, scores.json, cards/NAME.html, and excerpts/ when they
/// can be cut. Names of listeners become file names: letters, digits and hyphens of them. \param
/// further  more tables: learning, log, agreement \param cut      empty: no recording is at hand
/// \throws Error(output)
void write_grades(OutputFolder& folder, const Grade& grade, const GradeProvenance& provenance,
                  std::span<const Table> further, const CutExcerpt& cut);

} // namespace lull
