// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/strength.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull {

namespace {

constexpr double strong_db = 20.0;
constexpr std::size_t strong_channels = 3;

} // namespace

double strength_db(const Event& event) {
    constexpr double infinite = std::numeric_limits<double>::infinity();
    double most_db = -infinite;
    for (const Arrival& arrival : event.arrivals)
        most_db = std::max(most_db, arrival.snr_db);
    return std::isfinite(most_db) ? std::round(most_db * 100.0) / 100.0 : most_db;
}

bool is_strong_blow(const Event& event) {
    return event.kind == EventKind::tapping && event.arrivals.size() >= strong_channels &&
           strength_db(event) >= strong_db;
}

} // namespace lull
