// SPDX-License-Identifier: GPL-3.0-or-later
//
// Voices: glottal pulses and breath through moving formants.
#pragma once

#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"

#include <vector>

namespace lull {

/// One utterance: call, murmur, cry or scream. Speaker (length of the vocal tract, pitch),
/// syllables, vowels, intonation, jitter and shimmer are drawn. Source and filter after Klatt &
/// Klatt 1990 (JASA 87(2)); vowels near Peterson & Barney 1952 *(memory)*; roughness of screams
/// 30-150 Hz after Arnal et al. 2015 (Current Biology 25(15)).
/// \param duration_s  0: default of its kind
[[nodiscard]] std::vector<float> utter(Sound sound, double duration_s, Random& random,
                                       double rate_hz);

} // namespace lull
