// SPDX-License-Identifier: GPL-3.0-or-later
//
// Sounds of a site other than voices and knocks. All begin at their first sample; their level is
// arbitrary. Ranges are ours [practice].
#pragma once

#include "synthesis/random.hpp"

#include <vector>

namespace lull {

/// Adds a sound at a frame. Extends the output if needed.
void add_to(std::vector<float>& out, const std::vector<float>& sound, double at_frame,
            double gain = 1.0);

[[nodiscard]] std::vector<float> scratching(double duration_s, Random random,
                                            double rate_hz); ///< strokes
[[nodiscard]] std::vector<float> movement(double duration_s, Random random,
                                          double rate_hz); ///< thuds and scrapes
[[nodiscard]] std::vector<float> horn_blast(double duration_s, Random random, double rate_hz);
[[nodiscard]] std::vector<float> whistle_blast(double duration_s, Random random, double rate_hz);
[[nodiscard]] std::vector<float> drip(Random random, double rate_hz);
[[nodiscard]] std::vector<float> tick(Random random, double rate_hz);
[[nodiscard]] std::vector<float> footstep(Random random, double rate_hz);
[[nodiscard]] std::vector<float> radio_message(Random random, double rate_hz);
[[nodiscard]] std::vector<float> slide(Random random, double rate_hz); ///< settling debris

} // namespace lull
