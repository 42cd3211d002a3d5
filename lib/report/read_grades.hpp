// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tables read back for a grading: earlier grades, and the program's own finds.
#pragma once

#include "grading/grade_group.hpp"

#include <string>
#include <vector>

namespace lull {

/// What an earlier scores table says, for the learning curve; rows `all` and `program` are left
/// out. \param class_file  the table class beside it, for the kinds; empty: there is none
/// \throws Error(input)
[[nodiscard]] std::vector<PastScore> read_past_scores(const std::string& file,
                                                      const std::string& class_file = "");

/// A table of finds as the sheet of a listener: one answer a find, from its begin to its end.
/// \throws Error(input)
[[nodiscard]] Sheet read_finds(const std::string& file);

} // namespace lull
