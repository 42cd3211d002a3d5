// SPDX-License-Identifier: GPL-3.0-or-later
//
// Makes an exercise recognisable by ear, and limits its level.
#pragma once

#include "conventions.hpp"

#include <span>

namespace lull {

inline constexpr double exercise_sign_s = 1.0;          ///< tone pattern at each end
inline constexpr double exercise_sign_level_db = -26.0; ///< of its rms, dB re full scale
inline constexpr double playback_limit_db = -3.0;       ///< largest sample of an exercise

/// Adds the tone pattern (five short tones, 800 and 1200 Hz in turn) where it overlaps
/// [first, first + out.size()) of an exercise of `frames` frames.
void add_exercise_sign(Frame first, Frame frames, double rate_hz, std::span<float> out);

/// Whether an event with that onset, in an exercise of that length, belongs to its tone patterns,
/// which are not part of the task. The onset may be detected a little early.
[[nodiscard]] constexpr bool within_exercise_sign(double onset_s, double duration_s) {
    constexpr double early_s = 0.05;
    return onset_s < exercise_sign_s || onset_s >= duration_s - exercise_sign_s - early_s;
}

/// The same for a longer event. It may begin before the pattern at the end, and then belongs to it
/// if a large enough part lies in it.
[[nodiscard]] constexpr bool within_exercise_sign(double onset_s, double end_s, double duration_s) {
    constexpr double least_share = 1.0 / 3.0;
    const double inside_s = end_s - (duration_s - exercise_sign_s);
    return within_exercise_sign(onset_s, duration_s) || inside_s > least_share * (end_s - onset_s);
}

/// Compresses samples above 3 dB under the playback limit so that none exceeds it.
void limit_playback(std::span<float> out);

} // namespace lull
