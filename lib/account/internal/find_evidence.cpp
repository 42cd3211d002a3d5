// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/internal/find_evidence.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

/// The shape of the best arrival of the find's best event.
void add_shape(const Event& event, std::vector<Evidence>& evidence) {
    if (event.arrivals.empty()) return;
    const Shape& shape = strongest_of(event.arrivals).shape;
    if (shape.from_tracks) return;
    if (!shape.sustained) {
        evidence.push_back({"rise_ms", shape.rise_s * 1e3, 0});
        evidence.push_back(
            {shape.decay_to_floor ? "decay_to_floor_ms" : "decay_ms", shape.decay_s * 1e3, 0});
    } else if (shape.fundamental_hz > 0.0) {
        evidence.push_back({"fundamental_hz", shape.fundamental_hz, 0});
    }
    if (shape.centroid_hz > 0.0) evidence.push_back({"centroid_hz", shape.centroid_hz, 0});
}

void add_series(const Find& find, const FindInput& heard, std::vector<Evidence>& evidence) {
    for (const Series& series : heard.series) {
        if (series.number != find.series || find.events.size() < 2) continue;
        evidence.push_back({"interval_s", series.interval_s, 2});
        evidence.push_back({"regularity", series.regularity, 2});
    }
}

void add_hail(const Find& find, const FindInput& heard, std::vector<Evidence>& evidence) {
    for (const Hail& hail : heard.hails) {
        if (hail.number != find.after_hail) continue;
        evidence.push_back({"after_hail", static_cast<double>(hail.number), 0});
        evidence.push_back({"after_s", std::max(0.0, find.from_s - hail.to_s), 1});
    }
}

} // namespace

std::vector<Evidence> evidence_of(const Find& find, const FindInput& heard) {
    const Event& best = heard.events[static_cast<std::size_t>(find.best) - 1];
    std::vector<Evidence> evidence;
    const auto count = static_cast<double>(find.events.size());
    if (find.form == FindForm::series)
        evidence.push_back({"taps", count, 0});
    else if (find.form == FindForm::call)
        evidence.push_back({"syllables", count, 0});
    else if (find.form == FindForm::signal)
        evidence.push_back({"blasts", count, 0});
    add_series(find, heard, evidence);
    evidence.push_back({"channels", static_cast<double>(find.channels.size()), 0});
    if (std::isfinite(find.snr_db)) evidence.push_back({"snr_db", find.snr_db, 0});
    add_shape(best, evidence);
    if (best.like) {
        evidence.push_back({"like_series", static_cast<double>(best.like->series), 0});
        evidence.push_back({"correlation", best.like->correlation, 2});
    }
    if (find.strong_blow) evidence.push_back({"strong_blow", std::nullopt, 0});
    if (find.in_quiet) evidence.push_back({"in_quiet", std::nullopt, 0});
    add_hail(find, heard, evidence);
    return evidence;
}

} // namespace lull
