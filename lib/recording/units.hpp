// SPDX-License-Identifier: GPL-3.0-or-later
//
// Units of work: the one partition of a time line that everything is computed in.
//
// A unit owns the frames of its core. To judge them as if the recording were seen whole, it also
// reads a fixed run-in before and a fixed run-out after the core, and reports only what begins in
// the core. Units lie on a fixed raster counted from frame 0, whatever stretch was asked for and
// however many threads or machines share the work, so a unit's result depends on nothing but the
// recording, the settings and its number. Joining results in order of the units is all that is
// left.
#pragma once

#include "conventions.hpp"

#include <vector>

namespace lull {

struct Unit {
    int number = 0;       ///< from 0, in time order
    Frame core_begin = 0; ///< first frame that belongs to this unit
    Frame core_end = 0;   ///< one past the last
    Frame read_begin = 0; ///< run-in included, >= 0
    Frame read_end = 0;   ///< run-out included, <= the time line's end
};

inline constexpr double unit_core_s = 300.0;
inline constexpr double unit_run_in_s = 30.0;  ///< longer than any memory of floor and filters
inline constexpr double unit_run_out_s = 20.0; ///< longer than the longest event that is followed

/// The units whose cores meet [from, to) of a time line of `frames` frames at `rate_hz`. Cores are
/// clipped to [from, to); run-in and run-out are not.
[[nodiscard]] std::vector<Unit> plan_units(Frame frames, double rate_hz, Frame from, Frame to);

} // namespace lull
