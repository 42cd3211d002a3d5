// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/confidence.hpp"

#include "detect/internal/forest.hpp"
#include "detect/series_forest.hpp"
#include "detect/voice_forest.hpp"
#include "detect/weights.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double most_alone = 0.45;  ///< an isolated impulse stays under 0.5
constexpr double clear_snr_db = 8.0; ///< an impulse this clear is listed, whatever else it is
constexpr double clear_contrast_db = 10.0;
constexpr double clear_score = 60.0;
constexpr double least_clear = 0.1;
constexpr double longest_judged_s = 4.0; ///< a longer sound is judged in pieces
constexpr double seismic_doubt = 0.7;    ///< taken off the log odds: fewer harmonics to judge by

} // namespace

std::array<double, 6> impulse_features(const Arrival& arrival) {
    const Shape& shape = arrival.shape;
    return {std::clamp(arrival.snr_db, -10.0, 30.0) / 10.0,
            std::log1p(std::max(0.0, shape.score)),
            std::clamp(shape.contrast_db, 0.0, 30.0) / 10.0,
            std::min(shape.rise_s, 0.1) / 0.01,
            std::min(shape.decay_s, 0.4) / 0.1,
            shape.from_tracks ? 1.0 : 0.0};
}

std::array<double, 17> voice_features(const Arrival& arrival) {
    const Shape& shape = arrival.shape;
    const double duration_s = arrival.end_s - arrival.onset_s;
    return {shape.voiced_share,
            shape.harmonicity,
            std::min(shape.pitch_spread, 12.0),
            shape.pitch_jumps,
            shape.syllabic,
            std::log2(std::clamp(duration_s, 0.1, longest_judged_s)),
            std::clamp(arrival.snr_db, -10.0, 30.0) / 10.0,
            std::min(shape.voiced_run_s, 1.0),
            shape.impulsive,
            shape.fullness,
            shape.fundamental_hz > 0.0 ? std::exp(-shape.pitch_spread / 0.5) : 0.0,
            std::log2(std::max(shape.centroid_hz, 60.0) / 500.0),
            shape.fundamental_hz > 0.0 ? std::log2(shape.fundamental_hz / 200.0) : 0.0,
            std::log1p(shape.path_gain),
            std::min(shape.path_share, 1.0),
            std::min(shape.path_range, 12.0),
            std::log1p(shape.company)};
}

double impulse_confidence(const Arrival& arrival) {
    const double p = probability(log_odds(impulse_weights, impulse_features(arrival)));
    const bool clear = arrival.snr_db >= clear_snr_db &&
                       arrival.shape.contrast_db >= clear_contrast_db &&
                       arrival.shape.score >= clear_score;
    return std::clamp(p, clear ? least_clear : 0.0, most_alone);
}

double voice_confidence(const Arrival& arrival, ChannelKind kind) {
    double odds = log_odds({voice_bias, voice_nodes}, voice_features(arrival));
    if (kind == ChannelKind::seismic) odds -= seismic_doubt;
    return probability(odds);
}

double likelihood_ratio(double confidence, double prior) {
    const double p = std::clamp(confidence, 1e-6, 1.0 - 1e-6);
    return p / (1.0 - p) * (1.0 - prior) / prior;
}

std::optional<double> likelihood_ratio(const Event& event) {
    if (event.kind == EventKind::voice_like) return likelihood_ratio(event.confidence, voice_prior);
    if (event.kind != EventKind::tapping) return std::nullopt;
    return likelihood_ratio(event.confidence, event.series ? series_prior : impulse_prior);
}

double likelihood_ratio(const Series& series) {
    return likelihood_ratio(series.confidence, series_prior);
}

} // namespace lull
