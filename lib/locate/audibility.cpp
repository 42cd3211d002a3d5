// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/audibility.hpp"

#include "error.hpp"
#include "locate/grid_cells.hpp"
#include "locate/likelihood.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <set>

namespace lull {
namespace {

constexpr std::array<double, 3> outlined{0.1, 0.5, 0.9}; ///< probabilities
constexpr double two_sided_95 = 1.96;                    ///< standard normal deviate
constexpr double below_m = 1.0; ///< depth of the source below the lowest sensor

/// Standard normal deviates at equal steps of probability, the middles of eight equally likely
/// parts [computed by Abramowitz & Stegun 1964, 26.2.23].
constexpr std::array<double, 8> eighths{-1.5341, -0.8871, -0.4888, -0.1573,
                                        0.1573,  0.4888,  0.8871,  1.5341};

struct Hearing {
    Position at{};
    double floor_db = 0.0, contact_db = 0.0;
    std::size_t contact_row = 0; ///< which order of the deviates it uses
};

bool is_heard_by(SourceKind source, ChannelKind channel) {
    return source == SourceKind::knock ? channel != ChannelKind::air
                                       : channel != ChannelKind::seismic;
}

/// Divides the times of the floors where a sensor was moved.
std::vector<std::pair<double, double>> stretches_of(const Recording& recording,
                                                    const std::vector<ChannelFloor>& floors) {
    std::set<std::pair<double, double>> stretches;
    for (const ChannelFloor& floor : floors) {
        double from_s = floor.from_s;
        for (const Change& change : recording.session.changes) {
            if (!change.position_m || change.from_s <= from_s || change.from_s >= floor.to_s)
                continue;
            stretches.emplace(from_s, change.from_s);
            from_s = change.from_s;
        }
        stretches.emplace(from_s, floor.to_s);
    }
    return {stretches.begin(), stretches.end()};
}

std::vector<Hearing> hearing_in(const Recording& recording, const std::vector<ChannelFloor>& floors,
                                const SoundAsked& sound, const std::string& unit, double from_s,
                                double to_s) {
    std::vector<Hearing> hearing;
    for (const ChannelFloor& floor : floors) {
        if (floor.from_s > from_s || floor.to_s < to_s || floor.level_unit != unit) continue;
        const Channel now = channel_at(
            recording.session, recording.channels[static_cast<std::size_t>(floor.channel)], from_s);
        if (!now.position_m || !is_heard_by(sound.kind, now.kind)) continue;
        const double contact_db = contact_sigma_db({now.kind, {}, {}, {}, now.axis.empty()}, {});
        hearing.push_back({*now.position_m, floor.floor_db, contact_db, hearing.size()});
    }
    return hearing;
}

/// Averages over the unknowns. The contacts of the sensors and the source's strength go through the
/// deviates in different orders, so that few draws cover them evenly. The uncertainty of the recall
/// counts is common to all: it gives low and high, at two standard deviations from the mean.
void assess(AudiblePoint& point, double z_m, const std::vector<Hearing>& hearing,
            const SoundAsked& sound, const RecallCurve& curve) {
    constexpr std::size_t n = eighths.size();
    constexpr std::array<double, 4> deviates{-1.0, 1.0, -two_sided_95, two_sided_95};
    std::array<double, 4> sums{};
    std::vector<double> over_floor_db(hearing.size());
    for (const Fall& fall : falls) {
        for (std::size_t k = 0; k < hearing.size(); ++k) {
            const double r =
                std::max(least_range_m, distance_m({point.x_m, point.y_m, z_m}, hearing[k].at));
            over_floor_db[k] = sound.strength_db - fall.per_decade_db * std::log10(r) -
                               fall.per_metre_db * r - hearing[k].floor_db;
        }
        for (std::size_t s = 0; s < n; ++s)
            for (std::size_t turn = 0; turn < n; ++turn) {
                double best_db = -1e9;
                for (std::size_t k = 0; k < hearing.size(); ++k) {
                    const std::size_t row = hearing[k].contact_row;
                    const double contact = eighths[(turn * (2 * row + 1) + 3 * row + s) % n];
                    best_db =
                        std::max(best_db, over_floor_db[k] + sound.strength_sigma_db * eighths[s] +
                                              hearing[k].contact_db * contact);
                }
                const RecallPoint recall = recall_at(curve, best_db);
                for (std::size_t d = 0; d < deviates.size(); ++d) {
                    const double once =
                        std::clamp(recall.recall + deviates[d] * recall.sigma, 0.0, 1.0);
                    sums[d] += 1.0 - std::pow(1.0 - once, sound.times);
                }
            }
    }
    const auto draws = static_cast<double>(falls.size() * n * n);
    point.probability = std::min(1.0, 0.5 * (sums[0] + sums[1]) / draws);
    point.low = std::min(1.0, sums[2] / draws);
    point.high = std::min(1.0, sums[3] / draws);
}

/// From a lattice's columns and rows to places.
using ToPlace = std::function<std::array<double, 2>(double column, double row)>;

std::vector<AudibleOutline> outlines_of(const std::vector<AudiblePoint>& points, int columns,
                                        const ToPlace& to_place) {
    DensityMap map;
    map.columns = columns;
    map.rows = static_cast<int>(points.size()) / columns;
    for (const AudiblePoint& point : points)
        map.probability.push_back(point.probability.value_or(-1.0));
    std::vector<AudibleOutline> result;
    for (const double probability : outlined) {
        AudibleOutline one{probability, outlines(map, probability)};
        for (Outline& outline : one.outlines) {
            for (auto& corner : outline.outer)
                corner = to_place(corner[0], corner[1]);
            for (Ring& hole : outline.holes)
                for (auto& corner : hole)
                    corner = to_place(corner[0], corner[1]);
        }
        if (!one.outlines.empty()) result.push_back(std::move(one));
    }
    return result;
}

std::vector<AudiblePoint> points_of(const Recording& recording, int lattice_points, int& columns,
                                    ToPlace& to_place) {
    std::vector<AudiblePoint> points;
    if (recording.session.grid) {
        const Grid& grid = *recording.session.grid;
        columns = grid.columns;
        for (int row = 0; row < grid.rows; ++row)
            for (int column = 0; column < grid.columns; ++column) {
                const auto at = grid_point(grid, column + 0.5, row + 0.5);
                points.push_back({at[0], at[1], cell_name({column, row}), {}, {}, {}});
            }
        to_place = [&grid](double column, double row) { return grid_point(grid, column, row); };
        return points;
    }
    Listening all;
    for (const Channel& channel : recording.channels)
        if (channel.position_m) all.sensors.push_back({0, *channel.position_m, 0.0});
    const SearchSpace space = search_space({all}, std::nullopt);
    const double wide = space.high[0] - space.low[0], tall = space.high[1] - space.low[1];
    const double step = std::max(wide, tall) / lattice_points;
    columns = std::max(1, static_cast<int>(std::lround(wide / step)));
    const int rows = std::max(1, static_cast<int>(std::lround(tall / step)));
    for (int row = 0; row < rows; ++row)
        for (int column = 0; column < columns; ++column)
            points.push_back({space.low[0] + wide * (column + 0.5) / columns,
                              space.low[1] + tall * (row + 0.5) / rows,
                              "",
                              {},
                              {},
                              {}});
    to_place = [=, n = columns](double column, double row) {
        return std::array{space.low[0] + wide * column / n, space.low[1] + tall * row / rows};
    };
    return points;
}

/// The unit of most floors of channels that could hear the source.
std::string common_unit(const Recording& recording, const std::vector<ChannelFloor>& floors,
                        SourceKind kind) {
    std::vector<std::string> units;
    for (const ChannelFloor& floor : floors) {
        const Channel& channel = recording.channels[static_cast<std::size_t>(floor.channel)];
        if (channel.position_m && is_heard_by(kind, channel.kind))
            units.push_back(floor.level_unit);
    }
    std::string best;
    for (const std::string& unit : units)
        if (best.empty() || std::ranges::count(units, unit) > std::ranges::count(units, best))
            best = unit;
    return best;
}

} // namespace

std::vector<AudibleStretch> audibility(const Recording& recording,
                                       const std::vector<ChannelFloor>& floors,
                                       const SoundAsked& sound) {
    const bool knock = sound.kind == SourceKind::knock;
    const std::string unit = common_unit(recording, floors, sound.kind);
    if (unit.empty())
        throw_input(recording.session.path, "",
                    fmt::format("no {} channel has both a position and a noise floor",
                                knock ? "seismic" : "air"),
                    "give position_m in the session, and the noise table of the same channels");
    double depth_m = 1e300;
    for (const Channel& channel : recording.channels)
        if (channel.position_m) depth_m = std::min(depth_m, (*channel.position_m)[2]);
    const RecallCurve curve =
        recall_curve(sound.kind, static_cast<int>(recording.channels.size()), sound.ground);
    std::vector<AudibleStretch> result;
    for (const auto& [from_s, to_s] : stretches_of(recording, floors)) {
        AudibleStretch stretch{from_s,
                               to_s,
                               fmt::format("{} of {:g} {} at 1 m, {} time{}",
                                           knock ? "group of knocks" : "voice", sound.strength_db,
                                           unit, sound.times, sound.times == 1 ? "" : "s"),
                               {},
                               0,
                               {},
                               curve.source};
        ToPlace to_place;
        stretch.points = points_of(recording, sound.lattice_points, stretch.columns, to_place);
        const std::vector<Hearing> hearing =
            hearing_in(recording, floors, sound, unit, from_s, to_s);
        if (!hearing.empty())
            for (AudiblePoint& point : stretch.points)
                assess(point, depth_m - below_m, hearing, sound, curve);
        stretch.outlines = outlines_of(stretch.points, stretch.columns, to_place);
        result.push_back(std::move(stretch));
    }
    return result;
}

} // namespace lull
