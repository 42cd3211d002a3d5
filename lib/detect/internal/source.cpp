// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/source.hpp"

#include "detect/internal/likeness.hpp"
#include "detect/internal/logistic.hpp"
#include "detect/internal/place_match.hpp"
#include "models/pair_model.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

static_assert(pair_model::schema == pair_schema);
static_assert(pair_model::feature_count == pair_feature_count);

constexpr double unlike_bands = 0.15; ///< below, the waveforms need no comparing
constexpr double most_apart_db = 24.0;
constexpr double most_snr_db = 18.0; ///< a stronger blow is no less sure of its source
constexpr double most_ratio = 5.0;   ///< of the logarithms: no model is surer than that

double level_db(const Arrival& arrival) {
    return arrival.peak_energy > 0.0 ? 10.0 * std::log10(arrival.peak_energy) : -150.0;
}

double log_ratio(double a, double b, double least) {
    return std::abs(std::log((std::max(a, 0.0) + least) / (std::max(b, 0.0) + least)));
}

/// Means over the channels that both events have.
struct SharedMeans {
    double bands = 0.0, level_db = 0.0, scatter_db = 0.0, decay = 0.0, centroid = 0.0;
    double snr_db = 30.0; ///< the weaker of the two on the best channel
    int channels = 0;
};

SharedMeans shared_of(const Event& first, const Event& second) {
    SharedMeans shared;
    double squares = 0.0;
    double best = no_snr_db;
    for (const Arrival& x : first.arrivals) {
        for (const Arrival& y : second.arrivals) {
            if (x.channel != y.channel) continue;
            const double off = level_db(x) - level_db(y);
            shared.bands += band_likeness(x.shape.band_db, y.shape.band_db);
            shared.level_db += off;
            squares += off * off;
            shared.decay += log_ratio(x.shape.decay_s, y.shape.decay_s, 0.005);
            shared.centroid += log_ratio(x.shape.centroid_hz, y.shape.centroid_hz, 20.0);
            ++shared.channels;
            best = std::max(best, std::min(x.snr_db, y.snr_db));
        }
    }
    if (shared.channels == 0) return shared;
    for (double* sum : {&shared.bands, &shared.level_db, &shared.decay, &shared.centroid})
        *sum /= shared.channels;
    shared.scatter_db =
        std::sqrt(std::max(0.0, squares / shared.channels - shared.level_db * shared.level_db));
    shared.snr_db = best;
    return shared;
}

std::array<double, pair_feature_count> features_of(const Event& a, const Event& b,
                                                   const SharedMeans& shared) {
    const PlaceMatch same = match_places(a, b);
    const auto fewer = static_cast<double>(std::min(a.arrivals.size(), b.arrivals.size()));
    return {same.correlation,
            same.expected,
            std::clamp(same.correlation / std::max(same.expected, 0.2), -0.5, 1.2),
            shared.bands,
            std::min(std::abs(shared.level_db), 15.0),
            std::clamp(shared.snr_db, -5.0, most_snr_db) / 10.0,
            std::min(shared.decay, 2.0),
            std::min(shared.centroid, 1.0),
            std::asinh(same.agreement),
            same.coherence,
            std::log2(static_cast<double>(std::max(same.channels, 1))),
            std::min(shared.scatter_db, 12.0) / 4.0,
            1.0 - shared.channels / fewer};
}

} // namespace

std::array<double, pair_feature_count> pair_features(const Event& a, const Event& b) {
    const SharedMeans shared = shared_of(a, b);
    return shared.channels ? features_of(a, b, shared) : std::array<double, pair_feature_count>{};
}

double same_source(const Event& a, const Event& b) {
    const SharedMeans shared = shared_of(a, b);
    if (shared.channels == 0) return -most_ratio;
    if (shared.bands < unlike_bands || std::abs(shared.level_db) > most_apart_db)
        return -most_ratio;
    const double prior = std::log(pair_model::prior / (1.0 - pair_model::prior));
    return std::clamp(log_odds(pair_model::forest, features_of(a, b, shared)) - prior, -most_ratio,
                      most_ratio);
}

} // namespace lull
