// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/recall_curve.hpp"

#include "locate/recall_counts.hpp"

#include <fmt/format.h>

#include <cmath>
#include <span>

namespace lull {
namespace {

constexpr double fades_over_db = 6.0; ///< below the lowest SNR that was counted

struct Pool {
    int heard = 0, of = 0;
    std::vector<double> snrs_db;
    [[nodiscard]] double share() const { return static_cast<double>(heard) / of; }
};

RecallCurve curve_of(std::span<const RecallCount> counts, const char* what) {
    std::vector<Pool> pools;
    int all = 0;
    for (const RecallCount& count : counts) {
        if (count.of <= 0) continue;
        pools.push_back({count.heard, count.of, {count.snr_db}});
        all += count.of;
        while (pools.size() > 1 && pools[pools.size() - 2].share() > pools.back().share()) {
            const Pool last = pools.back();
            pools.pop_back();
            pools.back().heard += last.heard;
            pools.back().of += last.of;
            pools.back().snrs_db.insert(pools.back().snrs_db.end(), last.snrs_db.begin(),
                                        last.snrs_db.end());
        }
    }
    RecallCurve curve;
    for (const Pool& pool : pools) {
        const double mean = (pool.heard + 0.5) / (pool.of + 1.0);
        const double sigma = std::sqrt(mean * (1.0 - mean) / (pool.of + 2.0));
        for (const double snr_db : pool.snrs_db)
            curve.points.push_back({snr_db, mean, sigma});
    }
    curve.source = fmt::format("{} {} of made scenes, from {:g} to {:g} dB", all, what,
                               curve.points.front().snr_db, curve.points.back().snr_db);
    return curve;
}

} // namespace

RecallCurve recall_curve(SourceKind kind) {
    return kind == SourceKind::knock ? curve_of(knock_counts, "groups of knocks")
                                     : curve_of(voice_counts, "voices");
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
