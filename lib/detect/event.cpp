// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/event.hpp"

#include <algorithm>
#include <tuple>

namespace lull {

const char* name_of(EventKind kind) {
    switch (kind) {
    case EventKind::tapping:
        return "tapping";
    case EventKind::voice_like:
        return "voice-like";
    case EventKind::horn:
        return "horn";
    case EventKind::other:
        break;
    }
    return "other";
}

bool stronger(const Arrival& a, const Arrival& b) {
    return std::tie(a.snr_db, a.peak_energy) > std::tie(b.snr_db, b.peak_energy);
}

const Arrival& strongest_of(std::span<const Arrival> arrivals) {
    return *std::ranges::min_element(arrivals, stronger);
}

double snr_of(const Event& event) {
    return event.arrivals.empty() ? no_snr_db : strongest_of(event.arrivals).snr_db;
}

} // namespace lull
