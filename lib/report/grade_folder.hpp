// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everything that a grading leaves: tables, JSON, cards, the class page.
#pragma once

#include "grading/grade.hpp"
#include "grading/grade_group.hpp"
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

/// What a folder of grades holds beside the grades themselves.
struct GradeExtras {
    std::vector<LearningPoint> learning; ///< empty: no earlier exercise was named
    std::vector<Table> tables;           ///< log, agreement
    CutExcerpt cut;                      ///< empty: no recording is at hand
    std::string sound;                   ///< the recording it cuts from, as people know it
};

/// Writes scores.csv and the other tables, scores.json, index.html (the class page), cards.html,
/// cards/NAME.html, and excerpts/ when they can be cut. Names of listeners become file names:
/// letters, digits and hyphens of them. \throws Error(output)
void write_grades(OutputFolder& folder, const Grade& grade, const GradeProvenance& provenance,
                  const GradeExtras& extras);

} // namespace lull
