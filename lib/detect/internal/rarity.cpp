// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/rarity.hpp"

#include "detect/internal/likeness.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr std::size_t compared = 24;   ///< impulses before, and as many after
constexpr double around_s = 15.0;      ///< and no further than this
constexpr double alike_from = 0.85;    ///< likeness of bands
constexpr double level_ratio = 4.0;    ///< of powers: 6 dB
constexpr double faintest_score = 8.0; ///< just under the candidates' threshold

bool alike(const Arrival& a, const Arrival& b) {
    return a.peak_energy < level_ratio * b.peak_energy &&
           b.peak_energy < level_ratio * a.peak_energy &&
           band_likeness(a.shape.band_db, b.shape.band_db) >= alike_from;
}

} // namespace

std::vector<double> rarity(std::span<const Arrival> impulses) {
    std::vector<double> others(impulses.size(), 1.0);
    for (std::size_t i = 0; i < impulses.size(); ++i) {
        const std::size_t end = std::min(impulses.size(), i + 1 + compared);
        for (std::size_t k = i + 1; k < end; ++k) {
            if (impulses[k].onset_s > impulses[i].onset_s + around_s) break;
            if (!alike(impulses[i], impulses[k])) continue;
            others[i] += 1.0;
            others[k] += 1.0;
        }
    }
    for (std::size_t i = 0; i < impulses.size(); ++i)
        others[i] = std::log(std::max(1.0, impulses[i].shape.score / faintest_score)) / others[i];
    return others;
}

} // namespace lull
