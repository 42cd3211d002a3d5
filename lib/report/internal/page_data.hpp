// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the page's script works on.
#pragma once

#include "report/report_data.hpp"

#include <string>

namespace lull {

/// Channels, courses, quiet periods, events with their arrivals, the scripts that hold their sound
/// and the script's words, as JSON that is safe between script tags.
/// \param parts  files in details/ beside the page
[[nodiscard]] std::string page_data(const ReportData& report, std::size_t parts);

/// Markup of ours as a script that hands it to the page's own.
[[nodiscard]] std::string script_with_markup(const std::string& markup);

} // namespace lull
