// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/likeness.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double level_scatter_db = 6.0;   ///< a person's knocks differ this much in strength
constexpr double pattern_scatter_db = 4.0; ///< and their levels between channels this much

double energy_level_db(const Arrival& arrival) {
    return arrival.peak_energy > 0.0 ? 10.0 * std::log10(arrival.peak_energy) : -150.0;
}

double bell(double off, double scatter) {
    return std::exp(-0.5 * (off / scatter) * (off / scatter));
}

} // namespace

double band_likeness(std::span<const float> a, std::span<const float> b) {
    if (a.size() != b.size()) return 0.0;
    double ab = 0.0;
    double aa = 0.0;
    double bb = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        ab += static_cast<double>(a[i]) * b[i];
        aa += static_cast<double>(a[i]) * a[i];
        bb += static_cast<double>(b[i]) * b[i];
    }
    return aa > 0.0 && bb > 0.0 ? ab / std::sqrt(aa * bb) : 0.0;
}

double event_likeness(const Event& a, const Event& b) {
    double bands = 0.0;
    double sum = 0.0;
    double squares = 0.0;
    int common = 0;
    for (const Arrival& x : a.arrivals) {
        for (const Arrival& y : b.arrivals) {
            if (x.channel != y.channel) continue;
            const double off = energy_level_db(x) - energy_level_db(y);
            bands += band_likeness(x.shape.band_db, y.shape.band_db);
            sum += off;
            squares += off * off;
            ++common;
        }
    }
    if (common == 0) return 0.0;
    const double mean = sum / common;
    const double scatter = std::sqrt(std::max(0.0, squares / common - mean * mean));
    const double shared = static_cast<double>(common) /
                          static_cast<double>(std::min(a.arrivals.size(), b.arrivals.size()));
    // A spectrum of 16 ms is itself random: 0.7 is what two knocks of one source often give.
    const double alike = std::clamp((bands / common - 0.4) / 0.5, 0.0, 1.0);
    const double level = 0.15 + 0.85 * bell(mean, level_scatter_db);
    return alike * level * bell(scatter, pattern_scatter_db) * (0.5 + 0.5 * shared);
}

} // namespace lull
