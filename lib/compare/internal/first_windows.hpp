// SPDX-License-Identifier: GPL-3.0-or-later
//
// The windows in which a first wave is heard by itself.
#pragma once

#include "compare/first_arrival.hpp"

#include <array>
#include <cstddef>
#include <span>

namespace lull {

/// A window from the onset on. Inflation: what its noise alone gives over the bound, as a factor of
/// sigma. Misfit: chi-square a bin by which direct waves with unequal losses differ.
struct FirstWindow {
    double length_s, inflation, most_misfit;
};
constexpr std::array<FirstWindow, first_windows> window_kinds{{{0.002, 1.45, 9.0},
                                                               {0.004, 1.15, 2.0},
                                                               {0.008, 1.05, 2.5},
                                                               {0.016, 1.05, 3.5},
                                                               {0.032, 1.05, 5.0}}};
constexpr double window_search_s = 0.0015; ///< delays are looked for in a window out to twice this

/// Index of the first sample of a window round an onset.
[[nodiscard]] std::ptrdiff_t first_of_window(double onset, double rate_hz);

/// The spectrum of a window round an onset [samples]; phases count from first_of_window().
void hear_window(HeardSpectrum& heard, std::span<const float> samples, const NoiseSpectrum& noise,
                 double onset, const FirstWindow& kind, double rate_hz, Band band,
                 TransformRoom& room);

} // namespace lull
