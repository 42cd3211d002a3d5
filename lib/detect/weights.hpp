// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/internal/source.hpp. Made by
// scripts/train/detect_weights.py (seeds from 1000): 2160 scenes of 100 s; do not edit.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

/// The prior that impulse_weights stand under: the share of true candidates in those scenes.
inline constexpr double impulse_prior = 0.1457;

/// Features: SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; 1 when
/// measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-1.3991,
                                             {1.0817, 4.8327, 1.2052, 1.3797, 0.4883, 0.0417},
                                             {0.6325, 1.7755, 0.6560, 1.5430, 0.6366, 0.2009},
                                             {0.3211, 0.3586, 0.1592, 0.2237, -0.2599, 0.1659},
                                             {-0.2410, 0.1412,  0.7460,  0.2193,  0.5228,  0.3278,
                                              0.0255,  -0.2655, -0.0527, -0.1837, -0.0189, -0.5274,
                                              -0.1054, -0.3244, -0.3284, -0.3394, -0.1594, 0.1220,
                                              0.0242,  0.1343,  -0.3488}};

/// The same for pair_weights: of two impulses, of which one at least is a knock, that one source
/// made both.
inline constexpr double pair_prior = 0.4628;

/// Features: correlation of waveforms; correlation expected of one source at this noise; their
/// ratio; likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; ln of the ratio
/// of decays; ln of the ratio of centroids; asinh of the agreement of phases between channels;
/// asinh of its chance; its mean cosine; log2 of the channels; scatter of the levels between
/// channels [4 dB]; share of channels that only one is heard on.
inline constexpr Logistic<14> pair_weights{};

} // namespace lull
