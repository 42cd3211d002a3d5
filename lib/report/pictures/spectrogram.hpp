// SPDX-License-Identifier: GPL-3.0-or-later
//
// Spectrograms: power over time and frequency.
#pragma once

#include "report/pictures/png.hpp"

#include <span>
#include <vector>

namespace lull {

/// Power of each bin of overlapping Hann windows: mean square, re full scale = 1, of a sine there.
struct Spectrogram {
    int columns = 0;
    int bins = 0; ///< bin k at k * bin_hz
    double bin_hz = 0.0;
    double first_s = 0.0;     ///< centre of the first window, relative to the first sample
    double step_s = 0.0;      ///< between windows
    std::vector<float> power; ///< [column * bins + bin]
};

/// \param samples   at rate_hz; fewer than a window: no columns
/// \param window_s  > 0, rounded to a fast size
/// \param columns   wanted number, >= 1; it sets the step, which is at least one sample
[[nodiscard]] Spectrogram spectrogram(std::span<const float> samples, double rate_hz,
                                      double window_s, int columns);

/// The picture: low frequencies at the bottom, up to high_hz; the loudest `range_db` from white to
/// black (dark is loud) in sixteen shades. The eye distinguishes about so many steps of 4 dB, and
/// they compress to a third of the size.
/// \param height  >= 1 pixels; bins that share a pixel show the loudest of them
[[nodiscard]] GreyImage picture_of(const Spectrogram& spectrogram, double high_hz, int height,
                                   double range_db = 60.0);

} // namespace lull
