// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everything that a grading leaves: tables, JSON, cards.
#pragma once

#include "grading/grade.hpp"
#include "report/folder.hpp"
#include "report/table.hpp"

#include <cstdint>
#include <functional>
#include <map>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// What grades were made from and by, for the head of scores.json.
struct GradeProvenance {
    struct Input {
        std::string name; ///< without folder
        std::uint64_t bytes = 0;
        std::string sha256;
    };
    std::vector<Input> inputs;
    GradeRules rules;
    bool made_for_training = true;             ///< false: judgements of a real recording
    std::string start_clock, start_known_from; ///< empty: no recording is at hand
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
