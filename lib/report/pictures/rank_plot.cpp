// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/rank_plot.hpp"

#include "report/pictures/axis.hpp"
#include "report/pictures/svg.hpp"

#include <algorithm>

namespace lull {

std::string rank_plot_svg(const std::vector<RankDot>& dots, const std::string& title,
                          const std::string& unit) {
    constexpr double width = 420.0, left = 130.0, right = 20.0, row = 20.0, top = 8.0;
    const double base = top + row * static_cast<double>(dots.size());
    Svg svg(width, base + 40.0, title);
    if (dots.empty()) return svg.finish();
    double low = dots.front().level_db, high = low;
    for (const RankDot& dot : dots) {
        low = std::min(low, dot.level_db - dot.sigma_db);
        high = std::max(high, dot.level_db + dot.sigma_db);
    }
    const Axis level{low - 2.0, high + 2.0, left, width - right};
    for (std::size_t i = 0; i < dots.size(); ++i) {
        const double y = top + row * (static_cast<double>(i) + 0.5), x = level.at(dots[i].level_db);
        svg.text(left - 8.0, y + 4.0, dots[i].name, TextAnchor::end);
        if (dots[i].sigma_db > 0.0)
            svg.line(level.at(dots[i].level_db - dots[i].sigma_db), y,
                     level.at(dots[i].level_db + dots[i].sigma_db), y, 1.5);
        svg.dot(x, y, 3.5);
    }
    svg.line(left, base, width - right, base);
    for (const Tick& tick : number_ticks(level.low, level.high, 7)) {
        svg.line(level.at(tick.value), base, level.at(tick.value), base + 4.0);
        svg.text(level.at(tick.value), base + 16.0, tick.label, TextAnchor::middle);
    }
    svg.text(width - right, base + 32.0, unit, TextAnchor::end);
    return svg.finish();
}

} // namespace lull
