// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/tables.hpp"

#include "detect/confidence.hpp"
#include "recording/start_time.hpp"
#include "report/internal/cells.hpp"

#include <algorithm>

namespace lull {
namespace {

const Arrival* strongest_arrival(const Event& event) {
    const auto found = std::ranges::find(event.arrivals, event.strongest, &Arrival::channel);
    return found == event.arrivals.end() ? nullptr : &*found;
}

std::string channels_of(const Event& event, const Recording& recording) {
    std::string names;
    for (const Arrival& arrival : event.arrivals) {
        const Cell name = channel_cell(recording, arrival.channel);
        if (const auto* text = std::get_if<std::string>(&name))
            names += (names.empty() ? "" : ";") + *text;
    }
    return names;
}

Cell clock_cell(const Recording& recording, double time_s) {
    std::string clock = clock_text(recording.start, time_s);
    return clock.empty() ? Cell() : Cell(std::move(clock));
}

std::vector<Cell> event_row(const Event& event, const Recording& recording) {
    const LevelScale scale = scale_at(recording, event.strongest, event.onset_s);
    const Arrival* arrival = strongest_arrival(event);
    return {cell_of(event.number),
            std::string(name_of(event.kind)),
            event.onset_s,
            event.end_s,
            channel_cell(recording, event.strongest),
            channels_of(event, recording),
            arrival ? amplitude_cell(arrival->peak, scale) : Cell(),
            arrival ? snr_cell(arrival->snr_db) : Cell(),
            event.confidence,
            cell_of(event.series),
            event.why,
            scale.unit,
            clock_cell(recording, event.onset_s),
            cell_of(likelihood_ratio(event)),
            cell_of(event.hail)};
}

std::vector<Cell> arrival_row(const Event& event, const Arrival& arrival,
                              const Recording& recording) {
    const LevelScale scale = scale_at(recording, arrival.channel, arrival.onset_s);
    return {cell_of(event.number),
            channel_cell(recording, arrival.channel),
            arrival.onset_s,
            arrival.onset_sigma_s,
            amplitude_cell(arrival.peak, scale),
            power_cell(arrival.energy, scale),
            snr_cell(arrival.snr_db),
            scale.unit};
}

} // namespace

Table events_table(std::span<const Event> events, const Recording& recording) {
    Table table{"events",
                {{"event"},
                 {"kind"},
                 {"onset_s", time_decimals},
                 {"end_s", time_decimals},
                 {"channel"},
                 {"channels"},
                 {"peak_db", level_decimals},
                 {"snr_db", level_decimals},
                 {"confidence", share_decimals},
                 {"series"},
                 {"why"},
                 {"level_unit"},
                 {"onset_clock"},
                 {"likelihood_ratio", share_decimals},
                 {"hail"}},
                {}};
    for (const Event& event : events)
        table.rows.push_back(event_row(event, recording));
    return table;
}

Table heard_table(std::span<const Arrival> arrivals, const Recording& recording) {
    Table table{"heard",
                {{"channel"},
                 {"kind"},
                 {"onset_s", time_decimals},
                 {"end_s", time_decimals},
                 {"snr_db", level_decimals},
                 {"confidence", share_decimals},
                 {"onset_clock"}},
                {}};
    for (const Arrival& arrival : arrivals)
        table.rows.push_back({channel_cell(recording, arrival.channel), name_of(arrival.kind),
                              arrival.onset_s, arrival.end_s, snr_cell(arrival.snr_db),
                              arrival.confidence, clock_cell(recording, arrival.onset_s)});
    return table;
}

Table arrivals_table(std::span<const Event> events, const Recording& recording) {
    Table table{"arrivals",
                {{"event"},
                 {"channel"},
                 {"onset_s", time_decimals},
                 {"onset_sigma_s", time_decimals},
                 {"peak_db", level_decimals},
                 {"energy_db", level_decimals},
                 {"snr_db", level_decimals},
                 {"level_unit"}},
                {}};
    for (const Event& event : events)
        for (const Arrival& arrival : event.arrivals)
            table.rows.push_back(arrival_row(event, arrival, recording));
    return table;
}

Table series_table(std::span<const Series> series, const Recording& recording) {
    Table table{"series",
                {{"series"},
                 {"taps"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"interval_s", time_decimals},
                 {"regularity", share_decimals},
                 {"confidence", share_decimals},
                 {"channel"},
                 {"likelihood_ratio", share_decimals}},
                {}};
    for (const Series& one : series)
        table.rows.push_back({cell_of(one.number), cell_of(one.taps), one.from_s, one.to_s,
                              one.interval_s, one.regularity, one.confidence,
                              channel_cell(recording, one.channel), likelihood_ratio(one)});
    return table;
}

Table hails_table(std::span<const Hail> hails, const std::optional<HailChance>& chance,
                  const Recording& recording) {
    Table table{"hails",
                {{"hail"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"channel"},
                 {"followed_by"},
                 {"after_s", time_decimals},
                 {"known_from"},
                 {"session_followed"},
                 {"session_expected", share_decimals},
                 {"session_p", time_decimals},
                 {"events"}},
                {}};
    for (const Hail& hail : hails)
        table.rows.push_back({cell_of(hail.number), hail.from_s, hail.to_s,
                              channel_cell(recording, hail.channel), numbers_cell(hail.followed_by),
                              cell_of(hail.after_s), std::string(hail.from_log ? "log" : "channel"),
                              chance ? cell_of(chance->followed) : Cell(),
                              chance ? Cell(chance->expected) : Cell(),
                              chance ? Cell(chance->p) : Cell(), numbers_cell(hail.events)});
    return table;
}

} // namespace lull
