// SPDX-License-Identifier: GPL-3.0-or-later
//
// The smoothest and strongest path of pitch through a sound: a held pitch comes out of noise in
// which no single frame would be believed.
#pragma once

#include <cstddef>
#include <vector>

namespace lull {

/// A pitch that a frame may have.
struct PitchPeak {
    double pitch_hz = 0.0;
    double share = 0.0; ///< of the frame's power that has this period, noise included; may pass 1
};

/// The pitches that a frame may have; frames that are not in the list say nothing.
struct PitchedFrame {
    std::size_t frame = 0; ///< number on the raster
    std::vector<PitchPeak> peaks;
};

struct PitchPath {
    double gain = 0.0;  ///< sum over its frames of share less what noise has, less its moves
    double share = 0.0; ///< mean
    double range = 0.0; ///< semitones, between its 10th and 90th percentile
};

/// The path with the largest gain, by dynamic programming over the peaks of neighbouring frames
/// [as pitch tracking does it: Talkin 1995, Boersma 1993]. \param frames in order of their number
[[nodiscard]] PitchPath strongest_path(const std::vector<PitchedFrame>& frames);

} // namespace lull
