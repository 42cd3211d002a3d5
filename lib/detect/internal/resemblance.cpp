// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/resemblance.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double strict = 0.93;          ///< regularity of a drip, a clock or a machine
constexpr double clockwork = 0.975;      ///< and of a clock
constexpr double even = 0.75;            ///< of steps and blows
constexpr std::size_t long_run = 7;      ///< taps: fewer resemble nothing
constexpr double machine_s = 0.2;        ///< interval of breakers and motors
constexpr double longest_stride_s = 1.4; ///< of one foot, where left and right sound apart
constexpr double slowest_blows_s = 1.6;  ///< nobody hammers at such intervals for long
constexpr double deep_hz = 350.0;        ///< centroid of steps on a floor
constexpr double off_a_second = 0.02;    ///< of a clock's beat

/// Whether an interval is a beat of clocks: 1/4, 1/2, 1 or 2 s.
bool beats_seconds(double interval_s) {
    const double octave = std::round(std::log2(interval_s));
    return octave >= -2.0 && octave <= 1.0 &&
           std::abs(interval_s / std::exp2(octave) - 1.0) < off_a_second;
}

} // namespace

std::string resemblance(const TapGroup& run, double centroid_hz) {
    if (run.count < long_run) return "";
    if (run.interval_s < machine_s) return "a machine";
    if (run.regularity >= clockwork && beats_seconds(run.interval_s)) return "a clock";
    if (run.regularity >= strict) return run.interval_s < 0.35 ? "a machine" : "a drip";
    if (run.regularity < even) return "";
    const bool pace = run.interval_s > 0.35 && run.interval_s < longest_stride_s;
    if (pace && centroid_hz < deep_hz) return "footsteps";
    return run.interval_s > slowest_blows_s ? "a drip" : "hammering";
}

} // namespace lull
