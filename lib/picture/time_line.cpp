// SPDX-License-Identifier: GPL-3.0-or-later
#include "picture/time_line.hpp"

#include "picture/axis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double width = 960.0, left = 130.0, right = 20.0, top = 26.0, lane_height = 56.0,
                 lane_gap = 12.0, bottom = 40.0;
constexpr double lane_top_db = 40.0; ///< of a lane; what is louder stays at its edge

double lane_base(std::size_t lane) {
    return top + static_cast<double>(lane + 1) * (lane_height + lane_gap) - lane_gap;
}

/// The curve, thinned to one point a pixel: the loudest of the steps that share it.
void draw_course(Svg& svg, const LevelCourse& course, const Axis& time, const Axis& level) {
    std::vector<std::pair<double, double>> points;
    double pixel = -1.0;
    for (std::size_t i = 0; i < course.over_floor_db.size(); ++i) {
        const double value = course.over_floor_db[i];
        if (!std::isfinite(value)) {
            svg.polyline(points, 1.0);
            points.clear();
            continue;
        }
        const double x =
            std::floor(time.at(course.first_s + (static_cast<double>(i) + 0.5) * course.step_s));
        const double y = level.at(std::clamp(value, 0.0, lane_top_db));
        if (!points.empty() && x == pixel)
            points.back().second = std::min(points.back().second, y);
        else
            points.emplace_back(x, y);
        pixel = x;
    }
    svg.polyline(points, 1.0);
}

} // namespace

std::string time_line_svg(const TimeLine& line, const TimeLineWords& words) {
    const std::size_t lanes = std::max<std::size_t>(line.courses.size(), 1);
    const double base = lane_base(lanes - 1), height = base + bottom;
    Svg svg(width, height, words.title);
    const double to_s = line.to_s > line.from_s ? line.to_s : line.from_s + 1.0;
    const Axis time{line.from_s, to_s, left, width - right};
    for (const QuietMark& quiet : line.quiet)
        svg.hatched(time.at(quiet.from_s), top, time.at(quiet.to_s) - time.at(quiet.from_s),
                    base - top, quiet.note);
    for (std::size_t lane = 0; lane < line.courses.size(); ++lane) {
        const double low = lane_base(lane);
        const Axis level{0.0, lane_top_db, low, low - lane_height};
        svg.line(left, low, width - right, low, 0.5);
        svg.text(left - 34.0, low - lane_height / 2.0 + 4.0, line.courses[lane].name,
                 TextAnchor::end, 12.0);
        for (const double tick : {0.0, 20.0, 40.0})
            svg.text(left - 5.0, level.at(tick) + 4.0, fmt::format("{:.0f}", tick), TextAnchor::end,
                     9.0);
        draw_course(svg, line.courses[lane], time, level);
    }
    for (const TimeMark& mark : line.marks) {
        const bool in_lane = mark.lane >= 0 && mark.lane < static_cast<int>(line.courses.size());
        const double y =
            in_lane ? lane_base(static_cast<std::size_t>(mark.lane)) - lane_height : top;
        svg.sign(mark.sign, time.at(mark.from_s), y, 9.0, mark.note);
    }
    for (const Tick& tick : time_ticks(line.from_s, to_s, 10)) {
        svg.line(time.at(tick.value), base, time.at(tick.value), base + 5.0);
        svg.text(time.at(tick.value), base + 17.0, tick.label, TextAnchor::middle);
    }
    svg.text(width - right, base + 33.0, words.time_axis, TextAnchor::end);
    svg.text(left, base + 33.0, words.level_axis);
    return svg.finish();
}

} // namespace lull
