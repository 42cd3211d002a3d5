// SPDX-License-Identifier: GPL-3.0-or-later
//
// The parts of the page that are about events.
#pragma once

#include "report/report_data.hpp"

#include <string>

namespace lull {

[[nodiscard]] std::string heard_section(const ReportData& report);
[[nodiscard]] std::string time_line_section(const ReportData& report);
[[nodiscard]] std::string details_section(const ReportData& report);

} // namespace lull
