// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/series.hpp.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

// Share of the candidates in the scenes that were what the model asks for.
inline constexpr double impulse_prior = 0.5;
inline constexpr double voice_prior = 0.5;

/// Features: SNR [10 dB], ln(1 + score), contrast [10 dB], rise [10 ms], decay [100 ms],
/// 1 when measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-8.0, {0.8, 0.9, 1.5, -0.6, -0.6, -1.0}};

/// Features: voiced share, harmonicity, pitch spread [semitones, at most 12], pitch jumps,
/// syllabic share, log2 of the duration [s], SNR [10 dB], longest voiced run [s, at most 1],
/// energy in impulses, fullness, steadiness exp(-spread / 0.5 semitones), log2(centroid / 500 Hz).
inline constexpr Logistic<12> voice_weights{-6.0, {4.0, 4.0, 0.2, -2.0, 1.5, 0.3, 0.4, 3.0, -4.0, 2.0, -1.5, 0.0}};

/// Features: log2 of the taps, longest run beyond 6 taps [4], regularity, likeness, mean SNR
/// [10 dB], mean log odds of the taps alone, ln(1 + crowd per 10 s), log2(1 + groups),
/// 1 for a pair, interval short of 0.25 s [0.1 s], beats that go on
/// beyond the group (up to 4) [4], and those beyond 4 [4].
inline constexpr Logistic<12> series_weights{-5.0, {1.4, -1.5, 2.5, 2.5, 0.4, 0.5, -1.0, 0.6, 0.0, -0.5, 0.0, -1.0}};

} // namespace lull
