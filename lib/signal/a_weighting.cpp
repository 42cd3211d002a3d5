// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/a_weighting.hpp"

#include "conventions.hpp"

#include <algorithm>

namespace lull {
namespace {

/// Square of the magnitude, not normalised to 1 kHz. Pole frequencies of Annex E [Hz].
double magnitude_squared(double frequency_hz) {
    const double f2 = frequency_hz * frequency_hz;
    const auto pole = [f2](double hz) { return f2 + hz * hz; };
    const double root = f2 * f2 / (pole(20.598997) * pole(12194.217));
    return root * root / (pole(107.65265) * pole(737.86223));
}

} // namespace

double a_weighting_db(double frequency_hz) {
    return 10.0 * std::log10(magnitude_squared(frequency_hz) / magnitude_squared(1000.0));
}

double a_weighted_power(std::span<const double> mid_hz, std::span<const float> power) {
    double sum = 0.0;
    for (std::size_t b = 0; b < std::min(mid_hz.size(), power.size()); ++b)
        sum += static_cast<double>(power[b]) * db_to_power(a_weighting_db(mid_hz[b]));
    return sum;
}

} // namespace lull
