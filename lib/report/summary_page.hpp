// SPDX-License-Identifier: GPL-3.0-or-later
//
// summary.html: two printed pages for whoever decides and files. It has no script.
#pragma once

#include "report/report_data.hpp"

#include <string>

namespace lull {

[[nodiscard]] std::string summary_html(const ReportData& report);

} // namespace lull
