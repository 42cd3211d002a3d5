// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/course.hpp"

#include <algorithm>

namespace lull {
namespace {

constexpr double loudest_window_s = 0.05;

} // namespace

double Course::floor_at(Frame frame) const {
    if (floor.empty()) return 0.0;
    const Frame step = (frame - first) / hop;
    const auto last = static_cast<Frame>(floor.size()) - 1;
    return floor[static_cast<std::size_t>(std::clamp<Frame>(step, 0, last))];
}

Course make_course(const LevelTrack& level, const FloorTrack& floor, Frame begin, Frame end) {
    Course course;
    course.hop = floor.hop;
    course.first = begin / floor.hop * floor.hop;
    const auto hops = static_cast<Frame>(level.power.size());
    const Frame window = std::max<Frame>(1, static_cast<Frame>(loudest_window_s / level_hop_s));
    for (Frame at = course.first; at < end && !floor.power.empty(); at += floor.hop) {
        const Frame from =
            std::clamp<Frame>((std::max(at, begin) - level.first) / level.hop, 0, hops);
        const Frame to = std::clamp<Frame>(
            (std::min(at + floor.hop, end) - level.first) / level.hop, from, hops);
        if (from == to) continue;
        double sum = 0.0, loudest = 0.0, running = 0.0;
        for (Frame hop = from; hop < to; ++hop) {
            sum += level.power[static_cast<std::size_t>(hop)];
            running += level.power[static_cast<std::size_t>(hop)];
            if (hop - from >= window)
                running -= level.power[static_cast<std::size_t>(hop - window)];
            loudest =
                std::max(loudest, running / static_cast<double>(std::min(window, hop - from + 1)));
        }
        const std::size_t step = floor.step_of(at);
        course.level.push_back(static_cast<float>(sum / static_cast<double>(to - from)));
        course.loudest.push_back(static_cast<float>(loudest));
        course.floor.push_back(floor.power[step]);
        course.confidence.push_back(floor.confidence[step]);
    }
    return course;
}

void append(Course& whole, const Course& next) {
    if (whole.level.empty()) {
        whole = next;
        return;
    }
    // A stretch that begins or ends within a step: both units hold a part, the first one counts.
    const auto have = whole.first + static_cast<Frame>(whole.level.size()) * whole.hop;
    const auto skip =
        static_cast<std::ptrdiff_t>(std::max<Frame>(0, (have - next.first) / next.hop));
    const auto join = [skip](std::vector<float>& to, const std::vector<float>& from) {
        if (skip < static_cast<std::ptrdiff_t>(from.size()))
            to.insert(to.end(), from.begin() + skip, from.end());
    };
    join(whole.level, next.level);
    join(whole.loudest, next.loudest);
    join(whole.floor, next.floor);
    join(whole.confidence, next.confidence);
}

} // namespace lull
