// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/confidence.hpp"

#include "detect/internal/logistic.hpp"
#include "models/impulse_model.hpp"
#include "models/series_model.hpp"
#include "models/voice_model.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

static_assert(impulse_model::schema == impulse_schema);
static_assert(impulse_model::feature_count == impulse_feature_count);

constexpr double most_alone = 0.45;  ///< an isolated impulse stays under 0.5
constexpr double clear_snr_db = 8.0; ///< an impulse this clear is listed, whatever else it is
constexpr double clear_contrast_db = 10.0;
constexpr double clear_score = 60.0;
constexpr double least_clear = 0.1;

} // namespace

std::array<double, impulse_feature_count> impulse_features(const Arrival& arrival) {
    const Shape& shape = arrival.shape;
    return {std::clamp(arrival.snr_db, -10.0, 30.0) / 10.0,
            std::log1p(std::max(0.0, shape.score)),
            std::clamp(shape.contrast_db, 0.0, 30.0) / 10.0,
            std::min(shape.rise_s, 0.1) / 0.01,
            std::min(shape.decay_s, 0.4) / 0.1,
            shape.from_tracks ? 1.0 : 0.0};
}

double impulse_confidence(const Arrival& arrival) {
    const double p = probability(log_odds(impulse_model::forest, impulse_features(arrival)));
    const bool clear = arrival.snr_db >= clear_snr_db &&
                       arrival.shape.contrast_db >= clear_contrast_db &&
                       arrival.shape.score >= clear_score;
    return std::clamp(p, clear ? least_clear : 0.0, most_alone);
}

double voice_confidence(double network_odds) {
    return probability(voice_model::confidence_offset +
                       voice_model::confidence_slope * network_odds);
}

double likelihood_ratio(double confidence, double prior) {
    const double p = std::clamp(confidence, 1e-6, 1.0 - 1e-6);
    return p / (1.0 - p) * (1.0 - prior) / prior;
}

std::optional<double> likelihood_ratio(const Event& event) {
    if (event.kind == EventKind::voice_like)
        return likelihood_ratio(event.confidence, voice_model::prior);
    if (event.kind != EventKind::tapping) return std::nullopt;
    return likelihood_ratio(event.confidence,
                            event.series ? series_model::prior : impulse_model::prior);
}

double likelihood_ratio(const Series& series) {
    return likelihood_ratio(series.confidence, series_model::prior);
}

} // namespace lull
