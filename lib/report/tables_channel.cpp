// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/tables.hpp"

#include "health/levels.hpp"
#include "report/internal/cells.hpp"

namespace lull {
namespace {

/// Seconds in which a channel delivered nothing of its own.
double dropout_s(const ChannelHealth& health, double rate_hz) {
    const StretchList set = merged(merged(health.zeroed, health.held), health.repeated);
    const StretchList gone = merged(health.lost, health.non_finite);
    return static_cast<double>(merged(set, gone).frames) / rate_hz;
}

/// Where it stood in several places, that of which most sources tell.
const Contact* contact_of(std::span<const Contact> contacts, int channel) {
    const Contact* most = nullptr;
    for (const Contact& contact : contacts)
        if (contact.channel == channel && (!most || contact.sources > most->sources))
            most = &contact;
    return most;
}

std::vector<Cell> channel_row(int channel, const ChannelHealth& health,
                              const std::vector<Finding>& findings, double floor_power,
                              const Contact* contact, const Recording& recording) {
    const double rate_hz = recording.rate_hz;
    const LevelScale scale = scale_at(recording, channel, recording.seconds(health.first));
    const ChannelLevels levels = levels_of(health, ScaleChanges(recording, channel, health.first));
    const ChannelKind kind = recording.channels[static_cast<std::size_t>(channel)].kind;
    const std::optional<Hum> hum = hum_of(health.hum);
    const FitnessVerdict verdict = fitness_of(channel, findings);
    return {channel_cell(recording, channel),
            std::string(name_of(kind)),
            rate_hz,
            static_cast<double>(health.frames) / rate_hz,
            amplitude_cell(levels.peak, scale),
            power_cell(levels.power, scale),
            health.frames > 0 ? Cell(health.mean()) : Cell(),
            static_cast<double>(health.clipped.frames) / rate_hz,
            dropout_s(health, rate_hz),
            hum ? Cell(hum->frequency_hz) : Cell(),
            hum ? power_cell(hum->power * levels.hum_factor, scale) : Cell(),
            power_cell(floor_power, scale),
            std::string(name_of(verdict.fitness)),
            verdict.why,
            scale.unit,
            kind == ChannelKind::air ? power_cell(levels.weighted_power, scale) : Cell(),
            contact ? Cell(contact->contact_db) : Cell(),
            contact ? Cell(contact->sigma_db) : Cell()};
}

} // namespace

Table channels_table(std::span<const ChannelHealth> health, const std::vector<Finding>& findings,
                     std::span<const double> floor_power, std::span<const Contact> contacts,
                     const Recording& recording) {
    Table table{"channels",
                {{"channel"},
                 {"kind"},
                 {"rate_hz", hertz_decimals},
                 {"duration_s", time_decimals},
                 {"peak_db", level_decimals},
                 {"rms_db", level_decimals},
                 {"dc", 6},
                 {"clipped_s", time_decimals},
                 {"dropout_s", time_decimals},
                 {"hum_hz", hertz_decimals},
                 {"hum_db", level_decimals},
                 {"floor_db", level_decimals},
                 {"fitness"},
                 {"why"},
                 {"level_unit"},
                 {"level_a_db", level_decimals},
                 {"contact_db", level_decimals},
                 {"contact_sigma_db", level_decimals}},
                {}};
    for (std::size_t c = 0; c < health.size() && c < recording.channels.size(); ++c)
        table.rows.push_back(channel_row(static_cast<int>(c), health[c], findings,
                                         c < floor_power.size() ? floor_power[c] : 0.0,
                                         contact_of(contacts, static_cast<int>(c)), recording));
    return table;
}

Table findings_table(std::span<const Finding> findings, const Recording& recording) {
    Table table{"findings",
                {{"channel"},
                 {"finding"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"amount", 3},
                 {"unit"},
                 {"effect"},
                 {"remedy"}},
                {}};
    for (const Finding& finding : findings)
        table.rows.push_back({channel_cell(recording, finding.channel), finding.finding,
                              finding.from_s, finding.to_s, cell_of(finding.amount), finding.unit,
                              finding.effect, finding.remedy});
    return table;
}

Table noise_table(std::span<const NoiseLevel> levels, const Recording& recording) {
    Table table{"noise",
                {{"channel"},
                 {"band_hz", hertz_decimals},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"floor_db", level_decimals},
                 {"median_db", level_decimals},
                 {"level_db", level_decimals},
                 {"level_unit"}},
                {}};
    for (const NoiseLevel& level : levels) {
        const LevelScale scale = scale_at(recording, level.channel, level.from_s);
        table.rows.push_back({channel_cell(recording, level.channel), level.band_hz, level.from_s,
                              level.to_s, power_cell(level.floor, scale),
                              power_cell(level.median, scale), power_cell(level.level, scale),
                              scale.unit});
    }
    return table;
}

Table quiet_table(std::span<const QuietPeriod> periods) {
    Table table{"quiet",
                {{"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"drop_db", level_decimals},
                 {"broken_by"},
                 {"ordered_by"},
                 {"ended_by"}},
                {}};
    for (const QuietPeriod& period : periods)
        table.rows.push_back({period.from_s, period.to_s, period.drop_db,
                              numbers_cell(period.broken_by), cell_of(period.ordered_by),
                              cell_of(period.ended_by)});
    return table;
}

} // namespace lull
