// SPDX-License-Identifier: GPL-3.0-or-later
//
// Fundamental frequency and harmonicity of a sound in noise.
#pragma once

#include <span>
#include <vector>

namespace lull {

inline constexpr double lowest_pitch_hz = 70.0;    ///< below the lowest murmur
inline constexpr double highest_pitch_hz = 1000.0; ///< shouts, screams, infant cries

struct PitchMeasures {
    double fundamental_hz = 0.0; ///< median of the voiced frames; 0: none
    double harmonicity = 0.0;    ///< median periodicity of the voiced frames, 0..1
    double voiced_share = 0.0;   ///< of the loud frames
    double spread = 0.0;         ///< semitones between the 10th and 90th percentile
    double longest_run_s = 0.0;  ///< longest run of voiced frames that follow on
    int frames = 0;              ///< loud frames judged; 0: nothing could be measured
};

/// Periodicity of frames of 64 ms every 20 ms: the autocorrelation of the noise before the sound
/// is subtracted from each frame's (spectral subtraction [Boll 1979] in the lag domain), and the
/// remainder, over the autocorrelation of the window, is searched for its highest peak between
/// 70 Hz and 1 kHz [after Boersma 1993].
///
/// \param sound band-passed samples of the sound (at most a few seconds)
/// \param noise band-passed samples of what was there just before it; may be short or empty
[[nodiscard]] PitchMeasures measure_pitch(std::span<const float> sound,
                                          std::span<const float> noise, double rate_hz);

} // namespace lull
