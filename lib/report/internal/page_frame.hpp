// SPDX-License-Identifier: GPL-3.0-or-later
//
// What every page has: head, policy, style, caution, privacy, the data of its script and the
// script.
#pragma once

#include "report/report_data.hpp"

#include <string>

namespace lull {

/// A whole document round the page's own sections. \param parts  files in details/ beside it
[[nodiscard]] std::string framed_page(const ReportData& report, const std::string& sections,
                                      std::size_t parts = 0);

/// Label, start, length, exhibit of the session; that it is an exercise, if it is one.
[[nodiscard]] std::string session_heading(const ReportData& report);

} // namespace lull
