// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/internal/source.hpp. Made by
// scripts/train/detect_weights.py (seeds from 1000): 680 scenes of 100 s; do not edit.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

/// The prior that impulse_weights stand under: the share of true candidates in those scenes, false
/// ones weighed as the script says.
inline constexpr double impulse_prior = 0.1255;

/// Features: SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; 1 when
/// measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-1.9790,
                                             {0.9024, 4.4392, 1.1122, 1.1124, 0.2842, 0.4515},
                                             {0.6378, 1.7336, 0.6335, 1.7509, 0.5897, 0.4986},
                                             {0.3056, 0.1466, 0.1330, -0.3622, 0.1785, -0.8622},
                                             {-0.0999, -0.0730, 0.8086,  0.0308,  0.5509,  0.5274,
                                              0.1175,  -0.5134, -0.1285, 0.0161,  -0.1031, -0.3505,
                                              0.0214,  -0.4930, -0.5445, -0.1683, -0.2038, -0.0406,
                                              -0.1125, 0.2559,  -0.1722}};

/// The same for pair_weights: of two impulses, of which one at least is a knock, that one source
/// made both.
inline constexpr double pair_prior = 0.4314;

/// Features: correlation of waveforms; correlation expected of one source at this noise; their
/// ratio; likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; ln of the ratio
/// of decays; ln of the ratio of centroids.
inline constexpr Logistic<8> pair_weights{
    -4.0005,
    {0.2906, 0.4369, 0.3401, 0.8017, 4.9786, 0.9583, 0.8168, 0.3716},
    {0.3764, 0.4438, 0.4210, 0.2273, 4.5619, 0.6257, 0.8030, 0.3379},
    {0.1849, 0.7395, 0.0843, 2.9101, -1.0692, -0.7476, -0.1260, 0.0496},
    {0.3828,  -0.2679, 0.8569,  -0.7894, 1.4811,  -0.0651, -0.3156, 0.7454,  0.4409,
     1.7888,  0.0191,  -0.5812, -0.4816, 0.1674,  -0.1993, -0.0475, 0.3273,  -1.1454,
     -0.1343, 0.1432,  -0.3919, 0.9223,  -0.2450, -0.0049, -0.2983, -0.0701, 0.0118,
     0.4557,  -0.1250, -0.2508, 0.3789,  -0.0590, -0.2881, -0.3953, 0.0811,  0.1759}};

/// The same for voice_weights.
inline constexpr double voice_prior = 0.1003;

/// Features: voiced share; harmonicity; pitch spread [semitones]; pitch jumps; syllabic share; log2
/// duration [s]; SNR [10 dB]; longest voiced run [s]; energy in impulses; fullness; steadiness
/// exp(-spread / 0.5 semitones); log2(centroid / 500 Hz); log2(fundamental / 200 Hz);
/// ln(1 + gain of the path of pitch); periodic share along it; its range [semitones].
inline constexpr Logistic<16> voice_weights{
    -3.0957,
    {0.6145, 0.5972, 4.0482, 0.2639, 0.2438, -1.0354, 1.0868, 0.1195, 0.5449, 0.7579, 0.2257,
     -0.2519, 0.1589, 0.6974, 0.4452, 0.2573},
    {0.4521, 0.4291, 5.3608, 0.3631, 0.2719, 1.7792, 0.5610, 0.2149, 0.4496, 0.2935, 0.3881, 1.0151,
     0.8903, 0.9575, 0.3513, 0.7840},
    {0.1753, 0.2381, 0.1839, -0.1647, 0.3210, 0.3306, -0.0610, 0.0718, -0.9158, 0.2137, -0.1244,
     0.3340, 0.1501, 0.0045, 0.4927, 0.4130},
    {0.0222,  0.1238,  0.0729,  -0.0035, 0.0036,  -0.1006, -0.0304, -0.0421, -0.0667, 0.1678,
     -0.0988, 0.1869,  0.1083,  -0.1580, 0.2516,  0.1548,  0.1089,  -0.1099, 0.1005,  -0.1737,
     -0.0153, -0.1120, 0.0676,  -0.0528, 0.1397,  -0.0271, 0.0523,  -0.1531, -0.1852, 0.2454,
     0.1464,  -0.1662, -0.1129, 0.0287,  0.2304,  -0.1372, 0.0957,  -0.1056, -0.1219, -0.0249,
     -0.1202, -0.0469, -0.0630, 0.0303,  0.1027,  -0.1029, -0.0541, -0.0367, 0.0539,  -0.0136,
     0.0025,  -0.1144, 0.1626,  -0.0983, -0.0443, -0.0483, 0.1655,  -0.1556, 0.0367,  -0.1854,
     0.1609,  -0.1148, -0.1926, 0.0737,  0.0349,  -0.0014, 0.0924,  -0.0631, 0.1475,  0.0781,
     -0.5077, 0.1282,  -0.1968, 0.0891,  -0.1910, 0.0720,  0.1143,  -0.0743, -0.0058, 0.1602,
     0.0846,  0.1449,  -0.1632, -0.0431, 0.0738,  -0.0872, 0.0613,  -0.0360, 0.0799,  0.1609,
     -0.2145, 0.0548,  0.0105,  -0.0312, -0.2338, 0.1770,  -0.1646, 0.0813,  0.1090,  0.2931,
     -0.0927, 0.0025,  0.0887,  0.2963,  -0.0173, 0.1697,  -0.3091, -0.0382, -0.1413, -0.1258,
     0.2929,  -0.1753, -0.1576, 0.1632,  0.0260,  -0.0782, -0.1322, -0.1640, -0.0669, -0.0137,
     -0.3429, -0.4639, -0.0616, -0.1667, 0.0413,  -0.0869, -0.2979, -0.0297, 0.0148,  0.0551,
     -0.2045, 0.0471,  0.2812,  0.3688,  0.3928,  -0.1497}};

} // namespace lull
