// SPDX-License-Identifier: GPL-3.0-or-later
//
// The time line: level over the noise floor of all channels, with what was heard marked on it.
#pragma once

#include "picture/svg.hpp"

#include <string>
#include <vector>

namespace lull {

/// One channel's course; not a number where there is none.
struct LevelCourse {
    std::string name;
    double first_s = 0.0, step_s = 1.0;
    std::vector<float> over_floor_db; ///< loudest of each step over the noise floor
};

struct TimeMark {
    double from_s = 0.0, to_s = 0.0;
    Sign sign = Sign::square;
    int lane = -1;    ///< channel it is drawn at; -1: above all
    std::string note; ///< "event 3, tapping"
};

struct QuietMark {
    double from_s = 0.0, to_s = 0.0;
    std::string note;
};

struct TimeLine {
    double from_s = 0.0, to_s = 0.0;
    std::vector<LevelCourse> courses;
    std::vector<TimeMark> marks;
    std::vector<QuietMark> quiet; ///< hatched
};

/// The words on it.
struct TimeLineWords {
    std::string title, time_axis, level_axis;
};

/// One curve a channel, each with a scale of its own lane in dB, over one time axis.
[[nodiscard]] std::string time_line_svg(const TimeLine& line, const TimeLineWords& words);

} // namespace lull
