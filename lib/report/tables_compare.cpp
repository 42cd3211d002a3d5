// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/cells.hpp"
#include "report/tables.hpp"

namespace lull {
namespace {

/// Of delays and their sigmas: the bound on a clear knock lies below a microsecond.
constexpr int delay_decimals = 7;

} // namespace

Table ranking_table(std::span<const RankRow> rows, const Recording& recording) {
    Table table{"ranking",
                {{"event"},
                 {"kind"},
                 {"rank"},
                 {"channel"},
                 {"peak_energy_db", level_decimals},
                 {"snr_db", level_decimals},
                 {"below_strongest_db", level_decimals},
                 {"comparable"},
                 {"level_unit"},
                 {"sigma_db", level_decimals}},
                {}};
    for (const RankRow& row : rows)
        table.rows.push_back({row.event == 0 ? Cell(std::string("all")) : cell_of(row.event),
                              std::string(name_of(row.kind)), cell_of(row.rank),
                              channel_cell(recording, row.channel), cell_of(row.peak_energy_db),
                              row.snr_db ? snr_cell(*row.snr_db) : Cell(),
                              cell_of(row.below_strongest_db), row.comparable, row.level_unit,
                              cell_of(row.sigma_db)});
    return table;
}

Table delays_table(std::span<const DelayEstimate> delays, const Recording& recording) {
    Table table{"delays",
                {{"event"},
                 {"channel_a"},
                 {"channel_b"},
                 {"delay_s", delay_decimals},
                 {"sigma_s", delay_decimals},
                 {"correlation", share_decimals},
                 {"usable"},
                 {"reason"},
                 {"path_sigma_s", delay_decimals},
                 {"method"},
                 {"other_delay_s", delay_decimals},
                 {"other_sigma_s", delay_decimals},
                 {"other_path_sigma_s", delay_decimals},
                 {"other_probability", share_decimals}},
                {}};
    const auto of_other = [](const DelayEstimate& delay, double OtherDelay::*member) {
        return delay.other ? Cell((*delay.other).*member) : Cell();
    };
    for (const DelayEstimate& delay : delays)
        table.rows.push_back(
            {cell_of(delay.event), channel_cell(recording, delay.channel_a),
             channel_cell(recording, delay.channel_b), delay.delay_s,
             delay.usable ? Cell(delay.sigma_s) : Cell(), delay.correlation,
             std::string(delay.usable ? "yes" : "no"), delay.reason,
             delay.usable ? Cell(delay.path_sigma_s) : Cell(), std::string(name_of(delay.method)),
             of_other(delay, &OtherDelay::delay_s), of_other(delay, &OtherDelay::sigma_s),
             of_other(delay, &OtherDelay::path_sigma_s),
             of_other(delay, &OtherDelay::probability)});
    return table;
}

Table clocks_table(std::span<const ClockRow> rows, const Recording&) {
    Table table{"clocks",
                {{"recording"},
                 {"offset_s", time_decimals},
                 {"drift_ppm", 3},
                 {"sigma_s", time_decimals},
                 {"from"}},
                {}};
    for (const ClockRow& row : rows)
        table.rows.push_back({cell_of(row.recording), cell_of(row.offset_s), cell_of(row.drift_ppm),
                              cell_of(row.sigma_s), row.from});
    return table;
}

} // namespace lull
