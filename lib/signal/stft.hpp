// SPDX-License-Identifier: GPL-3.0-or-later
//
// Short-time spectra.
#pragma once

#include "signal/window.hpp"

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// Spectra of overlapping windows, not scaled: X[k] = sum w[n] x[n] exp(-2*pi*i*k*n/window).
struct ShortTimeSpectra {
    std::size_t bins = 0;                   ///< window / 2 + 1
    std::vector<std::complex<float>> value; ///< [frame * bins + bin]

    [[nodiscard]] std::size_t frames() const { return bins == 0 ? 0 : value.size() / bins; }
    [[nodiscard]] std::span<const std::complex<float>> frame(std::size_t i) const {
        return {value.data() + i * bins, bins};
    }
};

/// Frame i covers samples [i*hop, i*hop + window); only whole frames are made.
/// \param window  samples, >= 1; fast for sizes of fast_size()
/// \param hop     samples, >= 1
[[nodiscard]] ShortTimeSpectra short_time_spectra(std::span<const float> samples,
                                                  std::size_t window, std::size_t hop,
                                                  WindowKind kind);

} // namespace lull
