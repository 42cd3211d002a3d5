// SPDX-License-Identifier: GPL-3.0-or-later
//
// index.html: the page that a reviewer works from. One file that loads nothing from elsewhere;
// excerpts are played from the files beside it. Its script adds listening on two ears, judging and
// a time line to look into; all else is there without it, on paper too.
#pragma once

#include "report/report_data.hpp"

#include <string>
#include <utility>
#include <vector>

namespace lull {

/// Rows of what was heard, and blocks of single events, that the page shows; the tables beside it
/// hold all.
inline constexpr std::size_t most_rows_shown = 500, most_blocks_shown = 60;

[[nodiscard]] std::string page_html(const ReportData& report);

/// The page's figures, each as {name of a file, its bytes}: SVG, spectrograms as PNG.
[[nodiscard]] std::vector<std::pair<std::string, std::string>>
page_pictures(const ReportData& report);

/// A page to listen and note on, without anything that was found: for a second reviewer who is to
/// work blind, or for trainees. Its sounds are `report.sounds`, numbered by slice.
[[nodiscard]] std::string blind_page_html(const ReportData& report);

} // namespace lull
