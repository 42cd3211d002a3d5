// SPDX-License-Identifier: GPL-3.0-or-later
//
// Frequency weighting A [IEC 61672-1:2013, clause 5.5 and Annex E].
#pragma once

#include <span>

namespace lull {

/// Weighting in dB at a frequency, 0 at 1 kHz. frequency_hz > 0
[[nodiscard]] double a_weighting_db(double frequency_hz);

/// A-weighted mean square from third-octave powers, each band weighted as at its centre. Compared
/// with weighting the spectrum itself, the error is under 0.1 dB for noise that falls or rises by
/// up to 6 dB an octave. For a tone at the edge of a band it is up to 2.9 dB at 25 Hz, 1.7 dB at
/// 100 Hz, 0.8 dB at 500 Hz and 0.4 dB from 1 kHz to 6 kHz.
/// \param mid_hz  exact mid-band frequencies
/// \param power   mean square of each band
[[nodiscard]] double a_weighted_power(std::span<const double> mid_hz, std::span<const float> power);

} // namespace lull
