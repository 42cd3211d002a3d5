// SPDX-License-Identifier: GPL-3.0-or-later
//
// Third-octave spectra: floor, median and level of each channel over frequency.
#pragma once

#include <string>
#include <vector>

namespace lull {

struct BandPoint {
    double band_hz = 0.0;
    double floor_db = 0.0, median_db = 0.0, level_db = 0.0; ///< NaN: none
};

struct NoiseCourse {
    std::string name, unit; ///< of the channel; of its levels
    std::vector<BandPoint> bands;
};

/// One panel a channel over one logarithmic frequency axis: the floor is a thick line, the median a
/// dashed one, the level a thin one with dots. Each panel has its own level axis and unit.
[[nodiscard]] std::string noise_plot_svg(const std::vector<NoiseCourse>& channels);

} // namespace lull
