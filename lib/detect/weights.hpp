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
/// of decays; ln of the ratio of centroids.
inline constexpr Logistic<8> pair_weights{
    -3.5220,
    {0.3815, 0.7061, 0.4380, 0.8035, 4.6833, 1.0697, 0.7422, 0.3954},
    {0.3584, 0.3672, 0.3935, 0.2319, 4.3965, 0.6110, 0.6673, 0.3600},
    {-0.4058, 2.2967, 0.9237, 2.4925, -0.8352, -0.9866, -0.0818, -0.0992},
    {-0.2402, -0.2544, 0.9183,  0.1066,  1.2957,  0.9459,  0.1994,  0.8354,  0.3120,
     2.1158,  -0.3231, -0.1287, -0.0169, 0.0672,  0.0257,  -0.0359, -0.1266, -1.0915,
     -1.2034, -0.0916, -0.6038, 0.5430,  -0.4113, -0.1550, -0.2365, -0.2584, 0.0519,
     0.3137,  -0.0172, -0.1568, 0.3974,  -0.2603, -0.2577, -0.0874, 0.0507,  0.1386}};

} // namespace lull
