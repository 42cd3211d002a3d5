// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/audible.hpp"

#include "locate/audibility.hpp"
#include "locate/gather.hpp"
#include "report/tables_locate.hpp"
#include "review/place.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace lull {
namespace {

constexpr std::size_t most_quiet = 24, most_maps = 6;
constexpr int coarse_points = 12; ///< along the longer side: a review stays cheap

struct Period {
    double from_s, to_s;
};

/// Placements over the whole recording, then the longest quiet periods in order of time.
std::vector<Period> periods_of(const Analysis& found, const Recording& recording, double from_s,
                               double to_s) {
    std::set<double> cuts{from_s, to_s};
    for (const Change& change : recording.session.changes)
        if (change.position_m && change.from_s > from_s && change.from_s < to_s)
            cuts.insert(change.from_s);
    std::vector<Period> periods;
    for (auto cut = cuts.begin(); std::next(cut) != cuts.end(); ++cut)
        periods.push_back({*cut, *std::next(cut)});
    std::vector<Period> quiet;
    for (const QuietPeriod& period : found.quiet)
        quiet.push_back({period.from_s, period.to_s});
    std::ranges::stable_sort(quiet, std::ranges::greater{},
                             [](const Period& p) { return p.to_s - p.from_s; });
    if (quiet.size() > most_quiet) quiet.resize(most_quiet);
    std::ranges::sort(quiet, {}, &Period::from_s);
    periods.insert(periods.end(), quiet.begin(), quiet.end());
    return periods;
}

/// Mean floor of a channel over a period, in its level unit; none: no floor.
std::optional<ChannelFloor> floor_in(const Analysis& found, const Recording& recording, int channel,
                                     Period period) {
    const Course& course = found.courses[static_cast<std::size_t>(channel)];
    double sum = 0.0;
    int steps = 0;
    for (std::size_t i = 0; i < course.floor.size(); ++i) {
        const double at_s =
            recording.seconds(course.first + static_cast<Frame>(i) * course.hop + course.hop / 2);
        if (at_s < period.from_s || at_s >= period.to_s || !(course.floor[i] > 0.0F)) continue;
        sum += static_cast<double>(course.floor[i]);
        ++steps;
    }
    if (steps == 0) return std::nullopt;
    const LevelScale scale = level_scale(channel_at(
        recording.session, recording.channels[static_cast<std::size_t>(channel)], period.from_s));
    return ChannelFloor{channel, period.from_s, period.to_s,
                        *power_db(sum / steps) + scale.offset_db, scale.unit};
}

double middle_floor_db(std::vector<double> floors_db) {
    std::ranges::sort(floors_db);
    return floors_db[floors_db.size() / 2];
}

} // namespace

std::vector<PlacePicture> add_audibility(const Analysis& found, const Recording& recording,
                                         std::vector<Table>& tables, OutputFolder& folder,
                                         const Language& language) {
    std::vector<PlacePicture> pictures;
    std::vector<AudibleStretch> all;
    if (!has_positions(recording) || found.courses.empty() || found.courses.front().floor.empty())
        return pictures;
    const Course& course = found.courses.front();
    const std::vector<Period> periods = periods_of(
        found, recording, recording.seconds(course.first),
        recording.seconds(course.first + static_cast<Frame>(course.floor.size()) * course.hop));
    for (const SourceKind kind : {SourceKind::knock, SourceKind::voice}) {
        const ChannelKind other =
            kind == SourceKind::knock ? ChannelKind::air : ChannelKind::seismic;
        std::vector<ChannelFloor> floors;
        std::vector<double> floors_db;
        for (std::size_t c = 0; c < recording.channels.size(); ++c) {
            if (!recording.channels[c].position_m || recording.channels[c].kind == other) continue;
            for (const Period& period : periods)
                if (const auto floor = floor_in(found, recording, static_cast<int>(c), period)) {
                    floors.push_back(*floor);
                    floors_db.push_back(floor->floor_db);
                }
        }
        if (floors.empty()) continue;
        SoundAsked sound;
        sound.kind = kind;
        sound.strength_db = std::round(middle_floor_db(floors_db) + asked_over_floor_db);
        sound.times = asked_times;
        sound.lattice_points = coarse_points;
        const std::vector<AudibleStretch> stretches = audibility(recording, floors, sound);
        all.insert(all.end(), stretches.begin(), stretches.end());
    }
    if (all.empty()) return pictures;
    for (const AudibleStretch& stretch : all) {
        const bool placement = std::ranges::none_of(found.quiet, [&](const QuietPeriod& quiet) {
            return quiet.from_s == stretch.from_s && quiet.to_s == stretch.to_s;
        });
        if (!placement || pictures.size() == most_maps) continue;
        pictures.push_back({fmt::format("{:.0f} to {:.0f} s", stretch.from_s, stretch.to_s),
                            stretch.source, audibility_map(stretch, recording, language)});
        folder.write(fmt::format("maps/audibility-{:03}.svg", pictures.size()),
                     pictures.back().svg);
    }
    tables.push_back(audibility_table(all));
    return pictures;
}

} // namespace lull
