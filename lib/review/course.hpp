// SPDX-License-Identifier: GPL-3.0-or-later
//
// The course of a channel over the whole recording: small enough to keep for a night.
#pragma once

#include "conventions.hpp"
#include "signal/tracks.hpp"

#include <vector>

namespace lull {

/// Mean squares in the analysis band, in the steps of the noise floor from Settings::from on.
struct Course {
    Frame first = 0;
    Frame hop = 1;
    std::vector<float> level;      ///< mean power of the step
    std::vector<float> loudest;    ///< largest mean power of any 50 ms in it
    std::vector<float> floor;      ///< noise floor
    std::vector<float> confidence; ///< of the floor, 0..1

    /// Floor power at a frame; 0 for an empty course.
    [[nodiscard]] double floor_at(Frame frame) const;
};

/// The course of the frames [begin, end) that a unit owns.
[[nodiscard]] Course make_course(const LevelTrack& level, const FloorTrack& floor, Frame begin,
                                 Frame end);

/// Joins the course of the next unit to what came before it.
void append(Course& whole, const Course& next);

} // namespace lull
