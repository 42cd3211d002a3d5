// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/course.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double run_down_s =
    2.0; ///< machines and people take this long to stop and to start again

double quiet_db(const Plan& plan, double time_s) {
    double drop_db = 0.0;
    for (const PlannedQuiet& quiet : plan.quiet_periods) {
        const double in = std::clamp((time_s - quiet.from_s) / run_down_s, 0.0, 1.0);
        const double out = std::clamp((time_s - quiet.to_s) / run_down_s, 0.0, 1.0);
        drop_db = std::max(drop_db, quiet.drop_db * (in - out));
    }
    return -drop_db;
}

double knot(const Random& random, std::int64_t index) {
    // The sum of four uniform numbers is nearly normal, and bounded.
    const std::uint64_t bits =
        random.at(static_cast<std::uint64_t>(index + (std::int64_t{1} << 32)));
    double sum = 0.0;
    for (int part = 0; part < 4; ++part)
        sum += static_cast<double>((bits >> (16 * part)) & 0xffff) / 65536.0 - 0.5;
    return sum * std::sqrt(3.0);
}

} // namespace

double slow_noise(const Random& random, double time_s, double period_s) {
    const double at = time_s / period_s;
    const double below = std::floor(at), part = at - below;
    const double ease = part * part * (3.0 - 2.0 * part);
    const auto index = static_cast<std::int64_t>(below);
    // Between knots the standard deviation of a weighted mean is smaller than theirs.
    const double spread = std::sqrt(ease * ease + (1.0 - ease) * (1.0 - ease));
    return (knot(random, index) * (1.0 - ease) + knot(random, index + 1) * ease) / spread;
}

bool silenced(const Plan& plan, const SiteLayer& layer, double time_s) {
    if (!layer.stops_in_quiet) return false;
    return std::any_of(
        plan.quiet_periods.begin(), plan.quiet_periods.end(),
        [&](const PlannedQuiet& quiet) { return time_s >= quiet.from_s && time_s < quiet.to_s; });
}

double layer_course_db(const Plan& plan, const SiteLayer& layer, const Random& random,
                       double time_s) {
    if ((layer.from_s > 0.0 && time_s < layer.from_s) || time_s >= layer.to_s) return -200.0;
    double level_db = layer.stops_in_quiet ? quiet_db(plan, time_s) : 0.0;
    const auto wave = [&](std::uint64_t n, double period_s) {
        return slow_noise(random.child(n), time_s, period_s);
    };
    switch (layer.kind) {
    case LayerKind::wind:
        return level_db + 3.5 * wave(1, 2.5) + 3.0 * wave(2, 17.0);
    case LayerKind::traffic:
        return level_db + 5.0 * wave(1, 8.0);
    case LayerKind::rain:
        return level_db + 1.5 * wave(1, 12.0);
    case LayerKind::ambient:
        return level_db + 0.7 * wave(1, 20.0);
    case LayerKind::generator:
        return level_db + 0.4 * wave(1, 6.0);
    default:
        return level_db;
    }
}

} // namespace lull
