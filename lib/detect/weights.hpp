// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/internal/source.hpp. Made by
// scripts/train/detect_weights.py (seeds from 1000): 720 scenes of 100 s; do not edit.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

/// The prior that impulse_weights stand under: the share of true candidates in those scenes.
inline constexpr double impulse_prior = 0.1466;

/// Features: SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; 1 when
/// measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-1.3501,
                                             {1.1081, 4.8971, 1.2192, 1.3612, 0.4994, 0.0380},
                                             {0.6521, 1.8064, 0.6658, 1.5438, 0.6432, 0.1922},
                                             {0.1866, 0.3866, 0.1927, 0.3899, -0.0779, -0.0624},
                                             {-0.2904, 0.3415,  0.5246,  0.2026,  0.6260,  -0.1054,
                                              -0.0422, -0.2920, -0.0375, -0.2464, 0.1350,  -0.3952,
                                              -0.0647, -0.2066, -0.0818, -0.3800, -0.2497, 0.4516,
                                              -0.0920, 0.0845,  -0.2546}};

/// The same for pair_weights: of two impulses, of which one at least is a knock, that one source
/// made both.
inline constexpr double pair_prior = 0.4528;

/// Features: correlation of waveforms; correlation expected of one source at this noise; their
/// ratio; likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; ln of the ratio
/// of decays; ln of the ratio of centroids.
inline constexpr Logistic<8> pair_weights{
    -2.9305,
    {0.3794, 0.7078, 0.4328, 0.7903, 4.6597, 1.1051, 0.7435, 0.4082},
    {0.3610, 0.3703, 0.3944, 0.2469, 4.3919, 0.6326, 0.6636, 0.3666},
    {0.0223, 1.4900, 0.8218, 2.3288, -0.8443, -0.7985, -0.0598, -0.1353},
    {-0.2963, -0.5156, 0.3471,  0.4264,  1.2676,  -0.0102, 0.4717,  0.9198,  0.2696,
     1.6806,  -0.3158, -0.1535, -0.2705, -0.0485, 0.0748,  0.4505,  -0.2908, -1.1127,
     -0.0832, -0.2960, -0.7005, 0.3681,  -0.3961, -0.2585, -0.4071, -0.2957, 0.0461,
     0.2545,  -0.0559, -0.0455, 0.4753,  -0.3741, -0.2938, -0.1067, -0.0173, 0.0633}};

} // namespace lull
