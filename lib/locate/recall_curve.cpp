// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/recall_curve.hpp"

#include "locate/recall_counts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <span>

namespace lull {
namespace {

constexpr double fades_over_db = 6.0; ///< decay below the lowest SNR that was counted
constexpr int fewest_counted = 100;   ///< sounds needed for a curve of a ground by itself

struct Pool {
    int heard = 0, of = 0;
    std::vector<double> snrs_db;
    [[nodiscard]] double mean() const { return (heard + 0.5) / (of + 1.0); } ///< Jeffreys' prior
};

/// A group of numbers of channels, by its smallest and its largest.
struct ChannelGroup {
    int fewest, most;
};

ChannelGroup group_of(std::span<const RecallCount> counts, int channels) {
    ChannelGroup group{counts.front().fewest_channels, most_counted_channels};
    for (const RecallCount& count : counts) {
        if (count.fewest_channels <= channels)
            group.fewest = std::max(group.fewest, count.fewest_channels);
        else
            group.most = std::min(group.most, count.fewest_channels - 1);
    }
    return group;
}

/// Counts of a ground and a group, in order of SNR.
std::map<double, Pool> pools_of(std::span<const RecallCount> counts, ChannelGroup group,
                                RecallGround ground) {
    std::map<double, Pool> pools;
    for (const RecallCount& count : counts) {
        if (count.of <= 0 || count.fewest_channels != group.fewest) continue;
        if (ground != RecallGround::any && count.ground != ground) continue;
        Pool& pool = pools[count.snr_db];
        pool.heard += count.heard;
        pool.of += count.of;
        pool.snrs_db = {count.snr_db};
    }
    return pools;
}

int sounds_in(const std::map<double, Pool>& pools) {
    int sounds = 0;
    for (const auto& [snr_db, pool] : pools)
        sounds += pool.of;
    return sounds;
}

std::vector<Pool> never_falling(const std::map<double, Pool>& by_snr) {
    std::vector<Pool> pools;
    for (const auto& [snr_db, next] : by_snr) {
        pools.push_back(next);
        while (pools.size() > 1 && pools[pools.size() - 2].mean() > pools.back().mean()) {
            const Pool last = pools.back();
            pools.pop_back();
            pools.back().heard += last.heard;
            pools.back().of += last.of;
            pools.back().snrs_db.insert(pools.back().snrs_db.end(), last.snrs_db.begin(),
                                        last.snrs_db.end());
        }
    }
    return pools;
}

RecallCurve curve_of(std::span<const RecallCount> counts, const char* what, int channels,
                     RecallGround ground) {
    const ChannelGroup group = group_of(counts, channels);
    std::map<double, Pool> by_snr = pools_of(counts, group, ground);
    if (sounds_in(by_snr) < fewest_counted) {
        ground = RecallGround::any;
        by_snr = pools_of(counts, group, ground);
    }
    RecallCurve curve;
    curve.ground = ground;
    for (const Pool& pool : never_falling(by_snr)) {
        const double mean = pool.mean();
        const double sigma = std::sqrt(mean * (1.0 - mean) / (pool.of + 2.0));
        for (const double snr_db : pool.snrs_db)
            curve.points.push_back({snr_db, mean, sigma});
    }
    curve.source =
        fmt::format("{} {} of made scenes, {} ground, {} to {} channels, from {:g} to {:g} dB",
                    sounds_in(by_snr), what, ground_name(ground), group.fewest, group.most,
                    curve.points.front().snr_db, curve.points.back().snr_db);
    return curve;
}

} // namespace

std::string_view ground_name(RecallGround ground) {
    switch (ground) {
    case RecallGround::calm:
        return "calm";
    case RecallGround::weather:
        return "weather";
    case RecallGround::machines:
        return "machines";
    case RecallGround::people:
        return "people";
    case RecallGround::any:
        break;
    }
    return "any";
}

RecallCurve recall_curve(SourceKind kind, int channels, RecallGround ground) {
    return kind == SourceKind::knock ? curve_of(knock_counts, "groups of knocks", channels, ground)
                                     : curve_of(voice_counts, "voices", channels, ground);
}

RecallPoint recall_at(const RecallCurve& curve, double snr_db) {
    const auto between = [snr_db](const RecallPoint& a, const RecallPoint& b) {
        const double way = (snr_db - a.snr_db) / (b.snr_db - a.snr_db);
        return RecallPoint{snr_db, a.recall + (b.recall - a.recall) * way,
                           a.sigma + (b.sigma - a.sigma) * way};
    };
    const RecallPoint &first = curve.points.front(), &last = curve.points.back();
    if (snr_db >= last.snr_db) return {snr_db, last.recall, last.sigma};
    if (snr_db <= first.snr_db - fades_over_db) return {snr_db, 0.0, 0.0};
    if (snr_db < first.snr_db) return between({first.snr_db - fades_over_db, 0.0, 0.0}, first);
    std::size_t i = 1;
    while (curve.points[i].snr_db < snr_db)
        ++i;
    return between(curve.points[i - 1], curve.points[i]);
}

} // namespace lull
