// SPDX-License-Identifier: GPL-3.0-or-later
//
// Judgements as sheets: exports of a page, including the page without finds (--blind).
#pragma once

#include "grading/sheet.hpp"
#include "recording/start_time.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// The sheets of a file: one in the form that people write (parse_sheet), or from judgements one
/// for each reviewer, with their name. What a reviewer agreed to or added is an answer of the given
/// kind; what they disagreed with or were unsure of is not.
/// \param start  of the recording, for clock times of judgements
/// \throws Error(input) for files that are no table, and for judgements that cannot be read
[[nodiscard]] std::vector<Sheet> parse_sheets(std::string_view bytes, const std::string& file,
                                              const SheetContext& context, const StartTime& start);
[[nodiscard]] std::vector<Sheet> read_sheets(const std::string& file, const SheetContext& context,
                                             const StartTime& start);

} // namespace lull
