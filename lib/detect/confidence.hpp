// SPDX-License-Identifier: GPL-3.0-or-later
//
// Confidence: a probability from measured features by the models of data/models/, which are fitted
// to scenes: it holds under the prior stated with them, and not on any particular site.
#pragma once

#include "detect/event.hpp"
#include "recording/channel.hpp"

#include <array>
#include <optional>
#include <string_view>

namespace lull {

/// What the model of an impulse alone weighs, in order.
inline constexpr std::string_view impulse_schema =
    "SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; "
    "1 when measured on the tracks alone";
inline constexpr std::size_t impulse_feature_count = 6;
[[nodiscard]] std::array<double, impulse_feature_count> impulse_features(const Arrival& arrival);

/// Probability that an impulse alone, without companions, is a knock: below 0.5 whatever it looks
/// like, since an isolated impulse can be physically the same as a knock.
[[nodiscard]] double impulse_confidence(const Arrival& arrival);

/// Probability that a stretch is voice-like, by the largest log odds that the network gives it over
/// 0.18 s: calibrated on scenes that it was not fitted to (data/models/voice.json).
[[nodiscard]] double voice_confidence(double network_odds);

/// How much more likely the evidence is under the kind than not: the odds of the confidence over
/// the odds of the prior that the model was fitted under. \param confidence in 0..1
[[nodiscard]] double likelihood_ratio(double confidence, double prior);
/// Of an event or a series, under the prior of the model that judged it; none for kinds that no
/// fitted model judges.
[[nodiscard]] std::optional<double> likelihood_ratio(const Event& event);
[[nodiscard]] double likelihood_ratio(const Series& series);

} // namespace lull
