// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/internal/source.hpp. Made by
// scripts/train/detect_weights.py (seeds from 1000): 720 scenes of 100 s; do not edit.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

/// The prior that impulse_weights stand under: the share of true candidates in those scenes, false
/// ones weighed as the script says.
inline constexpr double impulse_prior = 0.1444;

/// Features: SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; 1 when
/// measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-1.3841,
                                             {1.1168, 4.8643, 1.2203, 1.3508, 0.5002, 0.0427},
                                             {0.6558, 1.8040, 0.6614, 1.5434, 0.6527, 0.2032},
                                             {0.1485, 0.4563, 0.1806, 0.4072, -0.0979, -0.0817},
                                             {-0.2707, 0.3613,  0.4715,  0.1693,  0.6718,  -0.1602,
                                              -0.0465, -0.2981, -0.0408, -0.2914, 0.2456,  -0.3738,
                                              -0.0360, -0.1851, -0.2013, -0.3689, -0.2003, 0.5029,
                                              -0.0993, 0.0881,  -0.2473}};

/// The same for pair_weights: of two impulses, of which one at least is a knock, that one source
/// made both.
inline constexpr double pair_prior = 0.4479;

/// Features: correlation of waveforms; correlation expected of one source at this noise; their
/// ratio; likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; ln of the ratio
/// of decays; ln of the ratio of centroids.
inline constexpr Logistic<8> pair_weights{
    -3.9347,
    {0.3452, 0.5945, 0.3998, 0.7897, 4.6949, 1.1216, 0.7505, 0.4081},
    {0.3703, 0.4173, 0.4083, 0.2474, 4.3992, 0.6381, 0.6702, 0.3683},
    {0.0966, 2.0341, 0.2253, 2.5039, -0.8275, -0.8201, 0.0498, -0.0959},
    {-0.1077, -0.1543, 0.4001,  0.3020, 1.3066,  0.0044,  0.7159,  0.9120,  0.4982,
     1.8558,  0.0411,  -0.1043, 0.0061, 0.0855,  0.1193,  0.2187,  -0.2458, -1.2151,
     -0.2042, -0.3655, -0.5215, 0.4691, -0.3364, -0.1790, -0.3493, -0.2532, 0.0581,
     0.3107,  -0.0510, 0.0683,  0.5255, -0.2987, -0.1802, -0.0133, 0.0179,  0.1447}};

} // namespace lull
