// SPDX-License-Identifier: GPL-3.0-or-later
//
// The signal-to-noise ratio of exercises: the definition of an arrival's SNR, and the gain that
// reaches it.
// Impulses: largest mean power over any 50 ms in the band, over the noise floor's power in the
// band. Voices and other lasting sounds: mean power of the louder half of their segments of 50 ms
// instead.
#pragma once

#include "signal/band.hpp"

#include <optional>
#include <span>
#include <utility>
#include <vector>

namespace lull {

/// Power response of the analysis filter, Butterworth of order 4 per edge, at size/2+1 bins of a
/// transform of `size`.
[[nodiscard]] std::vector<float> band_power_weights(std::size_t size, double rate_hz, Band band);

/// Filters the samples by the magnitude of that response, without delay. Samples outside count as
/// 0.
[[nodiscard]] std::vector<float> in_band(std::span<const float> samples, double rate_hz, Band band);

enum class LevelRule { peak_energy, louder_half };

/// The level of band-passed samples by a rule; 0 for less than one window.
[[nodiscard]] double level_power(std::span<const float> samples, double rate_hz, LevelRule rule);

/// The gain g at which noise + g * event has the level `target` (a power) by the rule. Both are
/// band-passed and of one length. Empty when the noise alone is above the target.
[[nodiscard]] std::optional<double> gain_for_level(std::span<const float> noise,
                                                   std::span<const float> event, double rate_hz,
                                                   LevelRule rule, double target);

/// First and one past the last sample at which the event's power over 4 ms is within `range_db` of
/// its maximum.
[[nodiscard]] std::pair<std::size_t, std::size_t> extent(std::span<const float> event,
                                                         double rate_hz, double range_db);

} // namespace lull
