// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/internal/source.hpp. Made by
// scripts/train/detect_weights.py (seeds from 1000): 680 scenes of 100 s; do not edit.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

/// The prior that impulse_weights stand under: the share of true candidates in those scenes, false
/// ones weighed as the script says.
inline constexpr double impulse_prior = 0.1273;

/// Features: SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; 1 when
/// measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-1.8662,
                                             {0.9542, 4.4694, 1.1236, 1.3932, 0.3983, 0.1736},
                                             {0.6361, 1.7200, 0.6282, 1.8900, 0.6064, 0.3797},
                                             {0.4311, 0.1796, 0.1511, -0.4638, -0.2310, -0.2389},
                                             {-0.1936, 0.0162,  0.7772,  0.1677,  0.5091,  0.4531,
                                              0.1110,  -0.3883, -0.2154, -0.0870, -0.1614, -0.3492,
                                              0.0061,  -0.3941, -0.2866, -0.1629, -0.2456, 0.0831,
                                              0.0184,  0.2687,  -0.4311}};

/// The same for pair_weights: of two impulses, of which one at least is a knock, that one source
/// made both.
inline constexpr double pair_prior = 0.4282;

/// Features: correlation of waveforms; correlation expected of one source at this noise; their
/// ratio; likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; ln of the ratio
/// of decays; ln of the ratio of centroids.
inline constexpr Logistic<8> pair_weights{
    -4.1560,
    {0.3531, 0.6067, 0.4164, 0.8094, 4.9126, 1.0135, 0.8175, 0.3692},
    {0.3664, 0.4112, 0.4098, 0.2207, 4.5110, 0.6189, 0.7216, 0.3334},
    {-0.0493, 1.9206, 0.4217, 2.6876, -1.0226, -0.9381, -0.1667, 0.1243},
    {0.0246,  -0.3141, 0.7833,  -0.2112, 1.8125,  0.3447,  -0.0696, 0.9238,  0.2140,
     2.2837,  -0.2339, 0.0012,  -0.3280, 0.1593,  -0.2591, 0.2728,  0.1128,  -1.7023,
     -0.5198, 0.0152,  -0.3467, 0.8050,  -0.2862, -0.0302, -0.2133, -0.0926, -0.0959,
     0.3284,  0.0798,  -0.1709, 0.4563,  -0.2082, -0.1336, -0.2258, 0.0973,  0.2617}};

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
