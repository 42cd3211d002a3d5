// SPDX-License-Identifier: GPL-3.0-or-later
//
// What makes an exercise known as one to the ear, and safe for it.
#pragma once

#include "conventions.hpp"

#include <span>

namespace lull {

inline constexpr double exercise_sign_s = 1.0;          ///< tone pattern at each end
inline constexpr double exercise_sign_level_db = -26.0; ///< of its rms, dB re full scale
inline constexpr double playback_limit_db = -3.0;       ///< no sample of an exercise is above this

/// Adds the tone pattern (five short tones, 800 and 1200 Hz in turn) where it overlaps
/// [first, first + out.size()) of an exercise of `frames` frames.
void add_exercise_sign(Frame first, Frame frames, double rate_hz, std::span<float> out);

/// Whether what begins then, in an exercise of that length, belongs to its tone patterns: they are
/// no part of what is to be heard. An onset may be found a little early.
[[nodiscard]] constexpr bool within_exercise_sign(double onset_s, double duration_s) {
    constexpr double early_s = 0.05;
    return onset_s < exercise_sign_s || onset_s >= duration_s - exercise_sign_s - early_s;
}

/// The same of what lasts: it may begin before the pattern at the end, which then speaks for it.
[[nodiscard]] constexpr bool within_exercise_sign(double onset_s, double end_s, double duration_s) {
    constexpr double least_share = 1.0 / 3.0;
    const double inside_s = end_s - (duration_s - exercise_sign_s);
    return within_exercise_sign(onset_s, duration_s) || inside_s > least_share * (end_s - onset_s);
}

/// Bends samples above 3 dB under the playback limit so that none passes it.
void limit_playback(std::span<float> out);

} // namespace lull
