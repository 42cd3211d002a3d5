// SPDX-License-Identifier: GPL-3.0-or-later
//
// Weights of the logistic models of detect/confidence.hpp and detect/internal/source.hpp. Made by
// scripts/train/detect_weights.py (seeds from 1000): 408 scenes of 100 s, of which impulse_weights
// are from an earlier fit on 289 of 90 s; do not edit.
#pragma once

#include "detect/internal/logistic.hpp"

namespace lull {

/// The prior that impulse_weights stand under: the share of true candidates in those scenes, false
/// ones weighed as the script says.
inline constexpr double impulse_prior = 0.1234;

/// Features: SNR [10 dB]; ln(1 + score); contrast [10 dB]; rise [10 ms]; decay [100 ms]; 1 when
/// measured on the tracks alone.
inline constexpr Logistic<6> impulse_weights{-1.9799,
                                             {1.0826, 4.8012, 1.2076, 0.7567, 0.2199, 0.5071},
                                             {0.6541, 1.7503, 0.6601, 1.3863, 0.4495, 0.5009},
                                             {-0.2481, 0.2750, 0.2819, -0.0320, 0.1510, -0.8684},
                                             {-0.1462, 0.3062,  0.3360,  0.2111,  0.5511,  0.0766,
                                              0.1388,  -0.5506, -0.1837, -0.4193, 0.1743,  -0.3081,
                                              -0.0781, -0.0244, -0.6320, -0.2879, -0.3314, -0.1269,
                                              -0.0425, 0.2757,  0.0170}};

/// The same for pair_weights: of two impulses, of which one at least is a knock, that one source
/// made both.
inline constexpr double pair_prior = 0.3983;

/// Features: correlation of waveforms; correlation expected of one source at this noise; their
/// ratio; likeness of bands; difference of levels [dB]; SNR of the weaker [10 dB]; ln of the ratio
/// of decays; ln of the ratio of centroids.
inline constexpr Logistic<8> pair_weights{
    -4.5790,
    {0.2824, 0.4125, 0.3342, 0.7975, 5.2522, 0.9189, 0.8137, 0.3606},
    {0.3749, 0.4410, 0.4231, 0.2176, 4.7720, 0.6317, 0.8194, 0.3230},
    {-0.2207, 1.0291, -0.0796, 2.9346, -1.0320, -0.7974, 0.2144, 0.0009},
    {0.6296,  0.0136,  0.5641,  -1.5036, 0.2438,  0.1340,  0.1604,  0.1556,  0.2261,
     1.4697,  -0.0726, -0.2330, -0.3645, -0.2334, 0.2184,  0.2339,  0.6653,  -0.3300,
     -0.1431, 0.3982,  -0.2360, 0.8779,  -0.6708, -0.2613, -0.2482, -0.2588, 0.0952,
     0.4246,  -0.0467, -0.6055, 0.4088,  -0.1501, -0.4985, -0.4538, 0.0454,  0.0855}};

/// The same for voice_weights.
inline constexpr double voice_prior = 0.0994;

/// Features: voiced share; harmonicity; pitch spread [semitones]; pitch jumps; syllabic share; log2
/// duration [s]; SNR [10 dB]; longest voiced run [s]; energy in impulses; fullness; steadiness
/// exp(-spread / 0.5 semitones); log2(centroid / 500 Hz); log2(fundamental / 200 Hz);
/// ln(1 + gain of the path of pitch); periodic share along it; its range [semitones].
inline constexpr Logistic<16> voice_weights{
    -2.7554,
    {0.5896, 0.5730, 3.9645, 0.2808, 0.2286, -1.1360, 1.0370, 0.0972, 0.6030, 0.7385, 0.2224,
     -0.1899, 0.2097, 0.6058, 0.4296, 0.2177},
    {0.4527, 0.4299, 5.3319, 0.3776, 0.2669, 1.8379, 0.5492, 0.2004, 0.4499, 0.3135, 0.3888, 0.9996,
     0.8528, 0.9167, 0.3526, 0.7170},
    {0.1618, 0.2171, 0.1260, -0.0180, 0.4014, 0.1864, -0.0750, 0.1859, -0.8742, 0.1417, -0.2060,
     0.2655, -0.0524, 0.0266, 0.1881, 0.2365},
    {0.1562,  0.1200,  0.0106,  0.0306,  0.1205,  -0.1372, -0.1847, -0.0173, 0.0514,  0.1081,
     -0.1586, 0.0187,  -0.1390, -0.1763, 0.1169,  0.2302,  0.1436,  0.0484,  0.0027,  -0.0035,
     -0.0805, -0.0416, 0.1031,  -0.1040, 0.0668,  -0.1372, 0.1999,  -0.1507, -0.0415, 0.1832,
     0.2157,  -0.1254, -0.2135, -0.1252, 0.0068,  -0.0603, 0.0319,  -0.0661, -0.0689, 0.0737,
     -0.1198, -0.0337, -0.1752, -0.1255, 0.2163,  -0.0768, 0.1758,  -0.0092, 0.1078,  -0.0527,
     0.1593,  -0.0764, 0.0981,  -0.0325, 0.0660,  -0.1306, -0.0448, -0.1405, 0.2199,  -0.1025,
     0.0847,  -0.0875, -0.0378, 0.4338,  -0.0648, -0.0673, -0.0662, -0.0841, 0.0339,  0.0064,
     -0.3073, 0.0553,  -0.0225, 0.4416,  -0.2527, -0.1218, 0.0552,  0.0845,  -0.0359, 0.0544,
     0.0399,  0.0496,  -0.0624, -0.2398, -0.0134, -0.0704, 0.1227,  -0.0019, 0.0627,  0.0386,
     -0.0982, 0.1107,  0.1385,  -0.1675, -0.1784, 0.0696,  -0.0250, 0.0001,  0.1966,  0.2282,
     -0.1205, 0.0590,  0.1383,  0.1562,  0.0642,  0.1677,  -0.3317, -0.2035, -0.2563, -0.0724,
     -0.0481, 0.0946,  -0.2213, 0.0510,  0.0137,  -0.1354, 0.0000,  -0.0397, -0.1006, -0.0580,
     -0.1271, -0.3895, -0.0870, -0.1810, -0.0683, 0.0889,  -0.3562, -0.1082, -0.1673, 0.0408,
     -0.1946, 0.1599,  0.2989,  0.3489,  0.1483,  -0.0044}};

} // namespace lull
