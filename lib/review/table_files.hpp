// SPDX-License-Identifier: GPL-3.0-or-later
//
// The tables of a review as files of its folder.
#pragma once

#include "report/folder.hpp"
#include "report/report_data.hpp"

#include <vector>

namespace lull {

/// Writes every table of the contract, then `further` (they exist already), each as CSV, and
/// report.json with all of them. The tables that the page shows stay in the report, and the digest
/// of report.json does. \throws Error(output)
void write_tables(OutputFolder& folder, ReportData& report, const std::vector<Table>& further);

} // namespace lull
