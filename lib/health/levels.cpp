// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/levels.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

/// Weighted means over the steps.
struct Sums {
    double frames = 0.0, power = 0.0, weighted_frames = 0.0, weighted = 0.0, inverse = 0.0;
    double peak = 0.0;

    void add(const HealthStep& step, double factor) {
        const auto n = static_cast<double>(step.frames);
        const double mean = static_cast<double>(step.mean);
        frames += n;
        power += n * factor * (static_cast<double>(step.power) + mean * mean);
        inverse += n / factor;
        peak = std::max(peak, static_cast<double>(step.peak) * std::sqrt(factor));
        const auto m = static_cast<double>(step.weighted_frames);
        weighted_frames += m;
        weighted += m * factor * static_cast<double>(step.weighted_power);
    }

    [[nodiscard]] ChannelLevels levels() const {
        if (frames == 0.0) return {};
        return {peak, power / frames, weighted_frames > 0.0 ? weighted / weighted_frames : 0.0,
                frames / inverse};
    }
};

} // namespace

ChannelLevels levels_of(const ChannelHealth& health, const ScaleChanges& changes) {
    Sums kept, all;
    const Frame raster = health.first / health.step;
    for (std::size_t i = 0; i < health.steps.size(); ++i) {
        const HealthStep& step = health.steps[i];
        if (step.frames == 0) continue;
        const Frame begin = (raster + static_cast<Frame>(i)) * health.step;
        const double factor = changes.factor(std::max(begin, health.first));
        all.add(step, factor);
        if (!changes.within(begin, begin + health.step)) kept.add(step, factor);
    }
    ChannelLevels levels = (kept.frames > 0.0 ? kept : all).levels();
    if (changes.none()) { // exact sums, which are better than those of the steps
        levels.peak = health.peak;
        levels.power = health.power();
        levels.hum_factor = 1.0;
    }
    return levels;
}

} // namespace lull
