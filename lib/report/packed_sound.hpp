// SPDX-License-Identifier: GPL-3.0-or-later
//
// The sound of the whole recording, resampled and packed (Opus), so that any moment can be heard.
#pragma once

#include "report/excerpt.hpp"

#include <span>

namespace lull {

/// Small enough for 15 MB an hour and channel with the base64 of a script round it.
inline constexpr int packed_bits_a_second = 22000;

/// Thins, makes as loud as an excerpt and packs one channel.
/// \param samples   of one channel, at rate_hz
/// \param from_s    time of the first
[[nodiscard]] ExcerptSound pack_sound(std::span<const float> samples, double rate_hz, double from_s,
                                      int channel, const ExcerptRules& rules);

} // namespace lull
