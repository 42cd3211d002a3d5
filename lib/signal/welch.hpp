// SPDX-License-Identifier: GPL-3.0-or-later
//
// Power spectral density by averaged periodograms [Welch 1967, IEEE Trans. AU 15(2)].
#pragma once

#include "signal/window.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// One-sided density: its sum times bin_hz is the mean square of the samples about their mean.
struct Density {
    double bin_hz = 0.0; ///< bin k lies at k * bin_hz
    std::vector<double>
        power; ///< [full scale^2 / Hz], segment / 2 + 1 bins; empty: too few samples
};

/// Mean of the periodograms of all whole segments, each minus its own mean.
/// \param segment  samples a segment, >= 2; half of each overlaps the next
[[nodiscard]] Density welch_density(std::span<const float> samples, double rate_hz,
                                    std::size_t segment, WindowKind kind = WindowKind::hann);

} // namespace lull
