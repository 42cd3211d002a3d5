// SPDX-License-Identifier: GPL-3.0-or-later
//
// The signal-to-noise ratio that exercises are made to: the definition of an arrival's SNR, and the
// gain that reaches it.
//
// Impulses: largest mean power over any 50 ms in the band, over the noise floor's power in the
// band. Voices and whatever lasts like one: mean power of the louder half of its pieces of 50 ms
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

/// The samples through the magnitude of that filter, without delay. Nothing is taken to lie
/// outside.
[[nodiscard]] std::vector<float> in_band(std::span<const float> samples, double rate_hz, Band band);

enum class LevelRule { peak_energy, louder_half };

/// The level of band-passed samples by a rule; 0 when they are shorter than one window.
[[nodiscard]] double level_power(std::span<const float> samples, double rate_hz, LevelRule rule);

/// The gain g at which noise + g * event has the level `target` (a power) by the rule; both
/// band-passed, of one length. None when the noise alone is above it.
[[nodiscard]] std::optional<double> gain_for_level(std::span<const float> noise,
                                                   std::span<const float> event, double rate_hz,
                                                   LevelRule rule, double target);

/// First and one past the last sample at which the event's power over 4 ms is within `range_db` of
/// its largest.
[[nodiscard]] std::pair<std::size_t, std::size_t> extent(std::span<const float> event,
                                                         double rate_hz, double range_db);

} // namespace lull
