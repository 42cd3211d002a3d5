// SPDX-License-Identifier: GPL-3.0-or-later
//
// The active level of speech.
#pragma once

#include <optional>
#include <span>

namespace lull {

struct ActiveLevel {
    double level_db = 0.0; ///< mean power while speech is active, dB re full scale
    double activity = 0.0; ///< share of active time, 0..1
    double long_term_db = 0.0;
};

/// Mean power of speech over the time in which it is active, by the principle of ITU-T P.56
/// (12/2011), method B: envelope by two exponential averages of 30 ms, hangover of 200 ms,
/// thresholds a factor of two apart, margin of 15.9 dB between the active level and its threshold,
/// interpolated. Empty for silence, or when no threshold lies that far below.
[[nodiscard]] std::optional<ActiveLevel> active_level(std::span<const float> samples,
                                                      double rate_hz);

} // namespace lull
