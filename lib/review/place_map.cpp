// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/grid_cells.hpp"
#include "locate/likelihood.hpp"
#include "report/pictures/map_plot.hpp"
#include "review/place.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string_view>

namespace lull {
namespace {

constexpr int most_cell_names = 400;

std::string north_words(const Recording& recording, const Language& say) {
    if (!recording.session.grid) return say["north_y"];
    return say["north_" + recording.session.grid->north];
}

void add_grid(MapPlot& plot, const Grid& grid, bool with_names) {
    for (int column = 0; column <= grid.columns; ++column)
        plot.lines.push_back({grid_point(grid, column, 0), grid_point(grid, column, grid.rows)});
    for (int row = 0; row <= grid.rows; ++row)
        plot.lines.push_back({grid_point(grid, 0, row), grid_point(grid, grid.columns, row)});
    if (!with_names || grid.columns * grid.rows > most_cell_names) return;
    for (int column = 0; column < grid.columns; ++column)
        for (int row = 0; row < grid.rows; ++row) {
            const auto at = grid_point(grid, column + 0.5, row + 0.5);
            plot.texts.push_back({at[0], at[1], cell_name({column, row})});
        }
}

/// A sensor's place among those that were heard, and how much after the first it heard.
std::string note_of(const Listening& listening, int sensor,
                    const std::vector<ArrivalHypothesis>& accounts, const Language& say) {
    std::string note;
    const auto own = std::ranges::find(listening.levels, sensor, &HeardLevel::sensor);
    if (own != listening.levels.end()) {
        const auto stronger = std::ranges::count_if(listening.levels, [&](const HeardLevel& other) {
            return other.level_db > own->level_db;
        });
        note = say.filled("map_rank", {{"rank", std::to_string(stronger + 1)}});
    }
    if (accounts.empty()) return note;
    for (const TiedArrivals& tied : accounts.front().tied)
        for (std::size_t k = 0; k < tied.sensors.size(); ++k)
            if (tied.sensors[k] == sensor)
                note +=
                    fmt::format("{}{:+.2f} ms", note.empty() ? "" : ", ",
                                1e3 * (tied.time_s[k] - *std::ranges::min_element(tied.time_s)));
    return note;
}

void add_sensors(MapPlot& plot, const Placing& placing, std::span<const std::size_t> shown,
                 const Recording& recording, const Language& say) {
    std::set<std::pair<std::string, Position>> drawn;
    for (const std::size_t k : shown) {
        const PlaceLikelihood likelihood(placing.listenings[k], placing.medium);
        for (std::size_t l = 0; l < placing.listenings[k].size(); ++l) {
            const Listening& listening = placing.listenings[k][l];
            for (std::size_t s = 0; s < listening.sensors.size(); ++s) {
                const Sensor& sensor = listening.sensors[s];
                const std::string& name =
                    recording.channels[static_cast<std::size_t>(sensor.channel)].name;
                if (!drawn.emplace(name, sensor.position_m).second) continue;
                // Ranks and delays are those of one source: on a map of several they say nothing.
                plot.sensors.push_back({name, sensor.position_m[0], sensor.position_m[1],
                                        listening.kind == ChannelKind::air,
                                        shown.size() == 1 ? note_of(listening, static_cast<int>(s),
                                                                    likelihood.hypotheses(l), say)
                                                          : ""});
            }
        }
    }
}

std::string title_name(const NamedPlace& named, const Language& say) {
    constexpr std::string_view series = "series ";
    return named.name.starts_with(series)
               ? say.filled("map_series", {{"name", named.name.substr(series.size())}})
               : say.filled("map_event", {{"name", named.name}});
}

/// A text in lines that a map is wide enough for.
std::vector<std::string> wrapped_lines(std::string_view text) {
    constexpr std::size_t widest = 90;
    std::vector<std::string> lines;
    while (text.size() > widest) {
        const std::size_t space = text.rfind(' ', widest);
        const std::size_t end =
            space == std::string_view::npos ? std::min(text.find(' ', widest), text.size()) : space;
        lines.emplace_back(text.substr(0, end));
        text.remove_prefix(std::min(text.size(), end + 1));
    }
    lines.emplace_back(text);
    return lines;
}

} // namespace

std::string place_map(const Placing& placing, std::span<const std::size_t> shown,
                      const Recording& recording, const Language& language) {
    MapPlot plot;
    std::string sources;
    plot.north = north_words(recording, language);
    if (recording.session.grid) add_grid(plot, *recording.session.grid, true);
    add_sensors(plot, placing, shown, recording, language);
    for (const std::size_t k : shown) {
        const NamedPlace& named = placing.places[k];
        const std::string name = title_name(named, language);
        sources += (sources.empty() ? "" : ", ") + name;
        for (const auto* region : {&named.place.outline90, &named.place.outline50})
            for (const Outline& outline : *region) {
                const bool inner = region == &named.place.outline50;
                plot.regions.push_back({outline.outer, inner});
                for (const Ring& hole : outline.holes)
                    plot.regions.push_back({hole, inner});
            }
        if (named.place.x_m) plot.places.push_back({name, *named.place.x_m, *named.place.y_m});
    }
    plot.title = language.filled("map_title", {{"sources", sources}});
    plot.legend = {language["map_signs"], language["map_lines"]};
    return map_plot_svg(plot);
}

std::string audibility_map(const AudibleStretch& stretch, const Recording& recording,
                           const Language& language) {
    MapPlot plot;
    plot.title = language.filled("audible_title", {{"from", fmt::format("{:.0f}", stretch.from_s)},
                                                   {"to", fmt::format("{:.0f}", stretch.to_s)}});
    plot.north = north_words(recording, language);
    if (recording.session.grid) add_grid(plot, *recording.session.grid, false);
    const int step = std::max(1, stretch.columns / 12); // figures on some of the points
    for (std::size_t i = 0; i < stretch.points.size(); ++i) {
        const AudiblePoint& point = stretch.points[i];
        const int column = static_cast<int>(i) % stretch.columns,
                  row = static_cast<int>(i) / stretch.columns;
        if (!point.probability || column % step != 0 || row % step != 0) continue;
        plot.texts.push_back(
            {point.x_m, point.y_m, fmt::format("{:.0f}", 100.0 * *point.probability)});
    }
    for (std::size_t k = 0; k < stretch.outlines.size(); ++k)
        for (const Outline& outline : stretch.outlines[k].outlines) {
            plot.regions.push_back({outline.outer, false});
            for (const Ring& hole : outline.holes)
                plot.regions.push_back({hole, false});
            // Two lines may be one: their figures stand on different sides of it.
            const std::size_t corners = outline.outer.size(),
                              at = k * corners / stretch.outlines.size();
            const auto &begin = outline.outer[at], &end = outline.outer[(at + 1) % corners];
            plot.texts.push_back(
                {0.5 * (begin[0] + end[0]), 0.5 * (begin[1] + end[1]),
                 fmt::format("{:.0f} %", 100.0 * stretch.outlines[k].probability)});
        }
    for (const Channel& channel : recording.channels) {
        const Channel now = channel_at(recording.session, channel, stretch.from_s);
        if (now.position_m)
            plot.sensors.push_back({now.name, (*now.position_m)[0], (*now.position_m)[1],
                                    now.kind == ChannelKind::air, ""});
    }
    plot.legend = wrapped_lines(
        language.filled("audible_legend", {{"source", language.phrase(stretch.source)},
                                           {"recall", language.phrase(stretch.recall)}}));
    plot.legend.insert(plot.legend.begin(), language["audible_caveat"]);
    return map_plot_svg(plot);
}

} // namespace lull
