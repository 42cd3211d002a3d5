// SPDX-License-Identifier: GPL-3.0-or-later
//
// The parts of the page that are about finds.
#pragma once

#include "report/report_data.hpp"

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// A table of finds, the first of them, as paper and a browser without the script show it.
[[nodiscard]] std::string finds_table_markup(const ReportData& report, std::size_t most);
/// What was heard: the desk's list, as the script finds it.
[[nodiscard]] std::string finds_section(const ReportData& report);
/// The whole recording: its overview on one channel, which the script lets choose.
[[nodiscard]] std::string whole_section(const ReportData& report);
/// The channel that heard the most deserving find best, for pictures of the whole recording.
[[nodiscard]] std::size_t channel_to_show(const ReportData& report);

/// Everything about one find.
[[nodiscard]] std::string find_block(const ReportData& report, const Find& find);
/// The figure of a find, as SVG; empty where none may be handed on.
[[nodiscard]] std::string find_figure(const ReportData& report, const Find& find);
/// Ranks of an event: a picture for each kind and unit of channel.
struct RankFigure {
    std::string title, svg;
};
[[nodiscard]] std::vector<RankFigure> rank_figures(const ReportData& report, const Event& event);

/// Time of day, where the start is known; else from the start.
[[nodiscard]] std::string moment_text(const ReportData& report, double time_s);
/// The channel's name; empty for an index that is none.
[[nodiscard]] std::string name_in(const ReportData& report, int channel);
/// What the page's places are called as anchors: "place-3", "place-series-2".
[[nodiscard]] std::string place_anchor(const std::string& name);

} // namespace lull
