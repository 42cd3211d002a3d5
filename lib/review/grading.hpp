// SPDX-License-Identifier: GPL-3.0-or-later
//
// One grading from files to a folder.
#pragma once

#include <string>
#include <vector>

namespace lull {

/// The files of a grading, as the user named them; empty: not given.
struct GradingInput {
    std::string truth, judgements;      ///< one of the two
    std::vector<std::string> reviewers; ///< of judgements: the first one's serve as truth
    std::vector<std::string> sheets;
    std::string finds, log, notes, recording, slots, weights, synonyms, label, key;
    std::string withheld;             ///< stretches of which no excerpt is cut
    std::vector<std::string> earlier; ///< folders of earlier grades, or their scores.csv, in order
                                      ///< of time
};

struct GradingOutcome {
    int sheets = 0, events = 0;    ///< graded; asked for
    std::vector<std::string> said; ///< what a person must know: each line that could not be read
    bool degraded = false;         ///< something could not be read: exit status 4
};

/// Reads everything, grades, and writes the folder (and the key file, beside it).
/// \throws Error(usage) for files that do not go together, Error(input), Error(output)
GradingOutcome run_grading(const GradingInput& input, const std::string& folder);

} // namespace lull
