// SPDX-License-Identifier: GPL-3.0-or-later
//
// What every page has: head, policy, style, caution, privacy, the data of its script and the
// script.
#pragma once

#include "report/report_data.hpp"

#include <string>

namespace lull {

/// A whole document up to the page's own sections, and after them.
/// \param parts  files in details/ beside it
[[nodiscard]] std::string page_begin(const ReportData& report);
[[nodiscard]] std::string page_end(const ReportData& report, std::size_t parts = 0);

/// Label, start, length, exhibit of the session; that it is an exercise, if it is one.
[[nodiscard]] std::string session_heading(const ReportData& report);

/// Every sheet that is printed says what it is part of, and the caution.
[[nodiscard]] std::string sheet_style(const ReportData& report);

} // namespace lull
