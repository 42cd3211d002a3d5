// SPDX-License-Identifier: GPL-3.0-or-later
//
// index.html: the page that a reviewer works from. One file that loads nothing from elsewhere;
// excerpts are played from the files beside it, and after a long night the details of lesser events
// come from there. It stays under 10 MB whatever was found. Its script adds listening on two ears,
// judging and a time line to look into; all else is there without it, on paper too.
#pragma once

#include "report/report_data.hpp"

#include <functional>
#include <string>
#include <utility>
#include <vector>

namespace lull {

/// Rows of a table, and finds in its list, that the page shows: the most deserving. The
/// tables beside it hold all.
inline constexpr std::size_t most_rows_shown = 500, most_finds_listed = 4000;

/// A file for the output folder: its name in it, its bytes.
using PageFile = std::pair<std::string, std::string>;

/// index.html. \param beside  takes each file that holds what of a long night's events does not fit
///                                into it
[[nodiscard]] std::string page_html(const ReportData& report,
                                    const std::function<void(const PageFile&)>& beside);

/// The page's figures: SVG, spectrograms as PNG.
[[nodiscard]] std::vector<PageFile> page_pictures(const ReportData& report);

/// A page to listen and note on, without anything that was found: for a second reviewer who is to
/// work blind, or for trainees. Its sounds are `report.sounds`, numbered by slice.
[[nodiscard]] std::string blind_page_html(const ReportData& report);

} // namespace lull
