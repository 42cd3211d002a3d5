// SPDX-License-Identifier: GPL-3.0-or-later
//
// Signal-to-noise ratio in decibels: a double that always compares. It is infinite over a digitally
// silent floor, and so first in every order.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull {

/// Without a signal, and where no value exists.
inline constexpr double no_snr_db = -std::numeric_limits<double>::infinity();

/// Length of the window whose largest mean power is an arrival's peak energy.
inline constexpr double peak_energy_window_s = 0.05;

/// SNR of a power over the noise power: +infinity over noise of 0, no_snr_db without a signal.
[[nodiscard]] inline double signal_to_noise_db(double signal_power, double noise_power) {
    if (!(signal_power > 0.0)) return no_snr_db;
    return noise_power > 0.0 ? 10.0 * std::log10(signal_power / noise_power)
                             : std::numeric_limits<double>::infinity();
}

/// An SNR for arithmetic: an infinite one is replaced by the largest that samples of 24 bits can
/// have, so sums, means and differences are numbers.
[[nodiscard]] inline double finite_snr_db(double snr_db) {
    constexpr double largest_db = 144.5;
    return std::clamp(snr_db, -largest_db, largest_db);
}

} // namespace lull
