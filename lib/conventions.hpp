// SPDX-License-Identifier: GPL-3.0-or-later
//
// The conventions for every number in lull.
//
// Frame      one sampling instant over all channels, counted from 0 at the start of the time line.
//            Sample: the value of one channel at one frame.
// Channel    one sensor's samples: an index from 0 inside the program, a name (or a number from 1)
//            on screens and in files.
// Time       seconds from frame 0 of the time line: frame / rate. Clock time is start + time.
// Amplitude  full scale = 1.0. A full-scale sine has an rms of 1/sqrt(2): -3.01 dB re full scale.
// Level      decibels: 10*log10(power), 20*log10(amplitude). References: full scale, or for
//            calibrated channels 1 nm/s, 1 um/s^2, 20 uPa (ISO 1683:2015).
// Delay      delay(a, b) = arrival at b minus arrival at a [s]: positive when b hears later.
// Position   x east (or along the team's grid), y north, z up, in metres.
#pragma once

#include <cmath>
#include <cstdint>
#include <optional>

namespace lull {

using Frame = std::int64_t;

/// 10*log10(power); no value for powers that are zero, negative or not finite: a level that does
/// not exist is never a number.
[[nodiscard]] inline std::optional<double> power_db(double power) {
    if (!(power > 0.0) || !std::isfinite(power)) return std::nullopt;
    return 10.0 * std::log10(power);
}

/// 20*log10(amplitude), amplitude >= 0; no value under the same conditions as power_db.
[[nodiscard]] inline std::optional<double> amplitude_db(double amplitude) {
    return amplitude > 0.0 ? power_db(amplitude * amplitude) : std::nullopt;
}

[[nodiscard]] inline double db_to_power(double db) {
    return std::pow(10.0, db / 10.0);
}
[[nodiscard]] inline double db_to_amplitude(double db) {
    return std::pow(10.0, db / 20.0);
}

} // namespace lull
