// SPDX-License-Identifier: GPL-3.0-or-later
//
// Judgements as sheets: what a page exported, the one with nothing found on it (--blind) among
// them.
#pragma once

#include "grading/sheet.hpp"
#include "recording/start_time.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// The sheets of a file: one as people write it (parse_sheet), or of judgements one for each
/// reviewer, named after them. What a reviewer agreed to, or added, is an answer of the kind given;
/// what they disagreed with or were unsure of is none.
/// \param start  of the recording, for clock times of judgements
/// \throws Error(input) for what is no table, and for judgements that cannot be read
[[nodiscard]] std::vector<Sheet> parse_sheets(std::string_view bytes, const std::string& file,
                                              const SheetContext& context, const StartTime& start);
[[nodiscard]] std::vector<Sheet> read_sheets(const std::string& file, const SheetContext& context,
                                             const StartTime& start);

} // namespace lull
