// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/tables_locate.hpp"

#include "report/internal/cells.hpp"

namespace lull {
namespace {

constexpr int metre_decimals = 2, area_decimals = 2, degree_decimals = 1;

Cell text_cell(const std::string& text) {
    return text.empty() ? Cell() : Cell(text);
}

} // namespace

Table locations_table(std::span<const NamedPlace> places) {
    Table table{"locations",
                {{"event"},
                 {"shape"},
                 {"x_m", metre_decimals},
                 {"y_m", metre_decimals},
                 {"z_m", metre_decimals},
                 {"speed_m_s", degree_decimals},
                 {"area50_m2", area_decimals},
                 {"area90_m2", area_decimals},
                 {"major_m", metre_decimals},
                 {"minor_m", metre_decimals},
                 {"bearing_deg", degree_decimals},
                 {"evidence"},
                 {"polygon50"},
                 {"polygon90"}},
                {}};
    for (const auto& [name, place, cells] : places) {
        // A curve's outline is as wide as the sigmas of one delay: the map shows it, no area does.
        const bool has_area = place.area90_m2.has_value();
        table.rows.push_back({name, std::string(name_of(place.shape)), cell_of(place.x_m),
                              cell_of(place.y_m), cell_of(place.z_m), cell_of(place.speed_m_s),
                              cell_of(place.area50_m2), cell_of(place.area90_m2),
                              cell_of(place.major_m), cell_of(place.minor_m),
                              cell_of(place.bearing_deg), place.evidence,
                              has_area ? text_cell(well_known_text(place.outline50)) : Cell(),
                              text_cell(well_known_text(place.outline90))});
    }
    return table;
}

Table cells_table(std::span<const NamedPlace> places) {
    Table table{"cells", {{"event"}, {"cell"}, {"probability", share_decimals}}, {}};
    for (const NamedPlace& named : places)
        for (const CellProbability& cell : named.cells)
            table.rows.push_back({named.name, cell.cell, cell.probability});
    return table;
}

Table next_table(std::span<const NamedAdvice> advice, const Recording& recording) {
    Table table{"next",
                {{"event"},
                 {"choice"},
                 {"channel"},
                 {"x_m", metre_decimals},
                 {"y_m", metre_decimals},
                 {"area90_m2", area_decimals},
                 {"expected_area90_m2", area_decimals}},
                {}};
    for (const NamedAdvice& one : advice)
        for (std::size_t k = 0; k < one.moves.size(); ++k)
            table.rows.push_back({one.name, cell_of(static_cast<int>(k) + 1),
                                  channel_cell(recording, one.moves[k].channel), one.moves[k].x_m,
                                  one.moves[k].y_m, one.moves[k].area90_m2,
                                  one.moves[k].expected_area90_m2});
    return table;
}

Table audibility_table(std::span<const AudibleStretch> stretches) {
    Table table{"audibility",
                {{"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"source"},
                 {"x_m", metre_decimals},
                 {"y_m", metre_decimals},
                 {"cell"},
                 {"probability", share_decimals},
                 {"low", share_decimals},
                 {"high", share_decimals},
                 {"caveat"}},
                {}};
    for (const AudibleStretch& stretch : stretches)
        for (const AudiblePoint& point : stretch.points)
            table.rows.push_back({stretch.from_s, stretch.to_s, stretch.source, point.x_m,
                                  point.y_m, text_cell(point.cell), cell_of(point.probability),
                                  cell_of(point.low), cell_of(point.high),
                                  std::string(recall_caveat)});
    return table;
}

} // namespace lull
