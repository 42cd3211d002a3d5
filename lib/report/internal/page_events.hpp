// SPDX-License-Identifier: GPL-3.0-or-later
//
// The parts of the page that are about events.
#pragma once

#include "report/report_data.hpp"

#include <string>
#include <vector>

namespace lull {

[[nodiscard]] std::string heard_section(const ReportData& report);
/// A table of the events that are part of the team's own hails; empty without any.
[[nodiscard]] std::string hail_events_table(const ReportData& report);
[[nodiscard]] std::string time_line_section(const ReportData& report);
/// Whole-page time line, as SVG.
[[nodiscard]] std::string time_line_picture(const ReportData& report);

/// Everything about one event.
[[nodiscard]] std::string event_block(const ReportData& report, const Event& event);
/// The figure of an event, as SVG; empty where none may be handed on.
[[nodiscard]] std::string event_figure(const ReportData& report, const Event& event);
/// Its ranks: a picture for each kind and unit of channel.
struct RankFigure {
    std::string title, svg;
};
[[nodiscard]] std::vector<RankFigure> rank_figures(const ReportData& report, const Event& event);

/// Time of day as the time line shows it, where the start is known; else from the start.
[[nodiscard]] std::string moment_text(const ReportData& report, double time_s);
/// The channel's name; empty for an index that is none.
[[nodiscard]] std::string name_in(const ReportData& report, int channel);
/// What the page's places are called as anchors: "place-3", "place-series-2".
[[nodiscard]] std::string place_anchor(const std::string& name);

} // namespace lull
