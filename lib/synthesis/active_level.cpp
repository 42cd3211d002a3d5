// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/active_level.hpp"

#include "conventions.hpp"

#include <array>
#include <cmath>
#include <cstdint>

namespace lull {

namespace {

constexpr double time_constant_s = 0.03, hangover_s = 0.2, margin_db = 15.9;
constexpr std::size_t thresholds = 20; ///< from half of full scale down

struct Counts {
    std::array<std::int64_t, thresholds> active{};
    double energy = 0.0;
};

Counts count_active(std::span<const float> samples, double rate_hz) {
    Counts counts;
    std::array<std::int64_t, thresholds> since{};
    const auto hangover = static_cast<std::int64_t>(std::ceil(hangover_s * rate_hz));
    since.fill(hangover);
    const double keep = std::exp(-1.0 / (time_constant_s * rate_hz));
    double first = 0.0, envelope = 0.0;
    for (const float sample : samples) {
        const double value = static_cast<double>(sample);
        counts.energy += value * value;
        first = keep * first + (1.0 - keep) * std::abs(value);
        envelope = keep * envelope + (1.0 - keep) * first;
        for (std::size_t j = 0; j < thresholds; ++j) {
            const bool loud = envelope >= std::ldexp(1.0, -static_cast<int>(j) - 1);
            since[j] = loud ? 0 : since[j] + 1;
            if (loud || since[j] < hangover) ++counts.active[j];
        }
    }
    return counts;
}

} // namespace

std::optional<ActiveLevel> active_level(std::span<const float> samples, double rate_hz) {
    const Counts counts = count_active(samples, rate_hz);
    if (samples.empty() || counts.energy <= 0.0) return std::nullopt;
    const auto all = static_cast<double>(samples.size());
    std::optional<double> level_above, excess_above;
    for (std::size_t j = 0; j < thresholds; ++j) {
        if (counts.active[j] == 0) continue;
        const double level_db =
            10.0 * std::log10(counts.energy / static_cast<double>(counts.active[j]));
        const double threshold_db = 20.0 * std::log10(2.0) * -static_cast<double>(j + 1);
        const double excess_db = level_db - threshold_db;
        if (excess_db >= margin_db) {
            double found_db = level_db;
            if (level_above) { // the threshold that satisfies the margin lies between two of them
                const double part = (margin_db - *excess_above) / (excess_db - *excess_above);
                found_db = *level_above + part * (level_db - *level_above);
            }
            const double long_term_db = 10.0 * std::log10(counts.energy / all);
            return ActiveLevel{found_db, db_to_power(long_term_db - found_db), long_term_db};
        }
        level_above = level_db;
        excess_above = excess_db;
    }
    return std::nullopt;
}

} // namespace lull
