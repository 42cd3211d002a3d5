// SPDX-License-Identifier: GPL-3.0-or-later
//
// Signal over noise, in decibels: a double that always compares. Infinite over a digitally silent
// floor, and so first in every order.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull {

/// Without a signal, and of what is not there.
inline constexpr double no_snr_db = -std::numeric_limits<double>::infinity();

/// Length of the window whose largest mean power is an arrival's peak energy.
inline constexpr double peak_energy_window_s = 0.05;

/// SNR of a power over the noise's: +infinity over noise of 0, no_snr_db without a signal.
[[nodiscard]] inline double signal_to_noise_db(double signal_power, double noise_power) {
    if (!(signal_power > 0.0)) return no_snr_db;
    return noise_power > 0.0 ? 10.0 * std::log10(signal_power / noise_power)
                             : std::numeric_limits<double>::infinity();
}

/// An SNR to calculate with, where an infinite one counts as the largest that samples of 24 bits
/// can have: sums, means and differences of these are numbers.
[[nodiscard]] inline double finite_snr_db(double snr_db) {
    constexpr double largest_db = 144.5;
    return std::clamp(snr_db, -largest_db, largest_db);
}

} // namespace lull
