// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/internal/source.hpp. Made by
// scripts/train/detect_weights.py (seeds from 1000): 2160 scenes of 100 s; do not edit.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

/// The prior that impulse_weights stand under: the share of true candidates in those scenes.
inline constexpr double impulse_prior = 0.1878;

/// Features: SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; 1 when
/// measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-0.9390,
                                             {0.9381, 4.2815, 0.9950, 1.7848, 0.3759, 0.0410},
                                             {0.6828, 1.6625, 0.6193, 1.7551, 0.6093, 0.1993},
                                             {0.2177, -0.1005, 0.7082, 0.2384, -0.0966, 0.0979},
                                             {-0.4294, 0.4428,  0.2026,  0.1441,  0.2199,  0.4582,
                                              -0.0021, -0.4214, 0.0992,  -0.0640, -0.1995, -0.1684,
                                              -0.1355, 0.0552,  -0.0776, -0.2171, -0.1044, -0.1134,
                                              -0.0001, 0.0745,  -0.2857}};

/// The same for pair_weights: of two impulses, of which one at least is a knock, that one source
/// made both.
inline constexpr double pair_prior = 0.2313;

/// Features: correlation of waveforms; correlation expected of one source at this noise; their
/// ratio; likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; ln of the ratio
/// of decays; ln of the ratio of centroids; asinh of the agreement of phases between channels;
/// asinh of its chance; its mean cosine; log2 of the channels; scatter of the levels between
/// channels [4 dB]; share of channels that only one is heard on.
inline constexpr Logistic<14> pair_weights{
    -1.1814,
    {0.1493, 0.5498, 0.2111, 0.6664, 4.1354, 0.7345, 0.7872, 0.3756, 0.2536, 0.2943, 0.0421, 0.4119,
     0.1713, 0.0391},
    {0.1788, 0.3738, 0.2394, 0.3397, 4.1683, 0.5950, 0.6681, 0.3570, 0.7921, 0.7673, 0.2635, 0.7094,
     0.3802, 0.1297},
    {0.3592, -0.2762, -0.0363, 1.0685, -0.2326, 0.4404, -0.0842, 0.0236, -0.6799, 0.1941, 1.4202,
     0.6632, -0.2882, 0.7235},
    {0.7345,  -0.2954, -0.8601, 0.0831,  0.0862,  -0.2345, -0.1553, -0.0270, -0.3046, -0.0577,
     0.0420,  -0.0239, 0.4362,  -0.1198, -0.3461, 0.6171,  -0.3079, 0.2544,  0.1891,  0.0078,
     -0.1061, -0.0268, -0.1263, 0.6316,  -0.2555, -0.0840, 0.0646,  0.2599,  -0.0973, -0.2139,
     -0.0201, 0.2345,  0.0531,  0.3359,  -0.0065, -0.4076, 0.2314,  -0.4681, 0.0477,  0.7003,
     -0.0921, -0.1946, -0.0205, 0.1800,  -0.3396, 0.1712,  0.5987,  0.0582,  -0.0402, -0.0050,
     -0.0494, 0.0628,  0.0916,  0.0162,  0.1780,  0.0352,  -0.1890, 0.0234,  -0.1286, -0.0491,
     -0.1100, -0.0737, -0.0637, 0.1344,  -0.1891, -0.2615, -0.1281, 0.0525,  -0.0762, -0.0854,
     0.0921,  -0.0343, -0.0562, -0.1844, -0.0057, 0.0689,  0.0397,  -0.0921, -0.1753, -0.0280,
     0.4061,  0.0529,  0.1367,  0.0317,  -0.2217, -0.0720, 0.5136,  0.6312,  0.0073,  -0.0352,
     -0.0564, -0.0690, 0.2556,  0.0488,  -0.0119, -0.5323, -0.5592, -0.0281, -0.0358, -0.3618,
     0.0052,  -0.1830, -0.0249, -0.0157, -0.3412}};

} // namespace lull
