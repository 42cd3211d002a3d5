// SPDX-License-Identifier: GPL-3.0-or-later
//
// Units of work: the one partition of a time line in which everything is computed.
// A unit owns the frames of its core. It also reads a fixed run-in before the core and a fixed
// run-out after it, and reports only what begins in the core, so its results are those of the whole
// recording. Units lie on a fixed raster counted from frame 0, whatever time was chosen and however
// many threads or machines share the work. So a unit's result depends only on the recording, the
// settings and its number. The results only have to be joined in order of the units.
#pragma once

#include "conventions.hpp"

#include <vector>

namespace lull {

struct Unit {
    int number = 0;       ///< from 0, in time order
    Frame core_begin = 0; ///< first frame that belongs to this unit
    Frame core_end = 0;   ///< one past the last frame
    Frame read_begin = 0; ///< start of the run-in, >= 0
    Frame read_end = 0;   ///< end of the run-out, <= end of the time line
};

inline constexpr double unit_core_s = 300.0;
/// longer than the memory of the floor and of all filters
inline constexpr double unit_run_in_s = 30.0;
inline constexpr double unit_run_out_s = 20.0; ///< longer than the longest event that is followed

/// The units whose cores overlap [from, to) of a time line of `frames` frames at `rate_hz`. Cores
/// are clipped to [from, to); run-in and run-out are not.
[[nodiscard]] std::vector<Unit> plan_units(Frame frames, double rate_hz, Frame from, Frame to);

} // namespace lull
