// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/noise_plot.hpp"

#include "report/pictures/axis.hpp"
#include "report/pictures/svg.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double width = 760.0, left = 190.0, right = 24.0, top = 46.0, panel_height = 130.0,
                 panel_gap = 26.0, bottom = 44.0;
// of a name; the figures of the levels are written beside it
constexpr std::size_t most_characters = 20;
constexpr double octave_ticks_hz[] = {31.5, 63.0, 125.0, 250.0, 500.0, 1e3, 2e3, 4e3, 8e3, 16e3};

/// Draws one of the three lines, with gaps where there is no level.
void draw_line(Svg& svg, const NoiseCourse& course, double BandPoint::*what, const Axis& octaves,
               const Axis& level, double stroke, bool dotted) {
    for (std::size_t i = 0; i < course.bands.size(); ++i) {
        const BandPoint& here = course.bands[i];
        if (!std::isfinite(here.*what)) continue;
        const double x = octaves.at(std::log2(here.band_hz)), y = level.at(here.*what);
        if (dotted) svg.dot(x, y, 1.8);
        if (i == 0 || !std::isfinite(course.bands[i - 1].*what)) continue;
        const BandPoint& last = course.bands[i - 1];
        svg.line(octaves.at(std::log2(last.band_hz)), level.at(last.*what), x, y, stroke,
                 what == &BandPoint::median_db ? "5 3" : "");
    }
}

/// One scale for all channels of a unit, so that they can be compared.
Axis level_axis(const std::vector<NoiseCourse>& channels, const std::string& unit, double base) {
    double low = 1e9, high = -1e9;
    for (const NoiseCourse& course : channels) {
        if (course.unit != unit) continue;
        for (const BandPoint& point : course.bands)
            for (const double value : {point.floor_db, point.median_db, point.level_db})
                if (std::isfinite(value)) low = std::min(low, value), high = std::max(high, value);
    }
    if (low > high) low = 0.0, high = 10.0;
    return {10.0 * std::floor(low / 10.0), 10.0 * std::floor(high / 10.0) + 10.0, base,
            base - panel_height};
}

void draw_key(Svg& svg) {
    const char* words[] = {"floor: mean without events", "median of all", "level: mean of all"};
    for (int i = 0; i < 3; ++i) {
        const double x = left + 190.0 * i, y = 20.0;
        svg.line(x, y, x + 30.0, y, i == 0 ? 3.0 : 1.0, i == 1 ? "5 3" : "");
        if (i == 2) svg.dot(x + 15.0, y, 1.8);
        svg.text(x + 36.0, y + 4.0, words[i]);
    }
}

} // namespace

std::string noise_plot_svg(const std::vector<NoiseCourse>& channels) {
    double low_hz = 25.0, high_hz = 50.0;
    for (const NoiseCourse& course : channels)
        for (const BandPoint& point : course.bands)
            high_hz = std::max(high_hz, point.band_hz);
    const double height = top +
                          static_cast<double>(std::max<std::size_t>(1, channels.size())) *
                              (panel_height + panel_gap) +
                          bottom;
    Svg svg(width, height, "Noise of each channel in third octaves");
    draw_key(svg);
    const Axis octaves{std::log2(low_hz) - 0.2, std::log2(high_hz) + 0.2, left, width - right};
    double base = top;
    for (const NoiseCourse& course : channels) {
        base += panel_height + panel_gap;
        const Axis level = level_axis(channels, course.unit, base - panel_gap);
        for (const Tick& tick : number_ticks(level.low, level.high, 6)) {
            svg.line(left, level.at(tick.value), width - right, level.at(tick.value), 0.3);
            svg.text(left - 6.0, level.at(tick.value) + 4.0, tick.label, TextAnchor::end, 10.0);
        }
        svg.text(10.0, level.at_high + 12.0, shortened(course.name, most_characters),
                 TextAnchor::start, 12.0);
        svg.text(10.0, level.at_high + 28.0, course.unit, TextAnchor::start, 10.0);
        for (const double hz : octave_ticks_hz) {
            if (hz > high_hz * 1.1) break;
            const double x = octaves.at(std::log2(hz));
            svg.line(x, level.at_high, x, level.at_low, 0.2);
        }
        draw_line(svg, course, &BandPoint::level_db, octaves, level, 1.0, true);
        draw_line(svg, course, &BandPoint::median_db, octaves, level, 1.0, false);
        draw_line(svg, course, &BandPoint::floor_db, octaves, level, 3.0, false);
    }
    const double foot = base - panel_gap;
    for (const double hz : octave_ticks_hz) {
        if (hz > high_hz * 1.1) break;
        const double x = octaves.at(std::log2(hz));
        svg.line(x, foot, x, foot + 5.0);
        svg.text(x, foot + 18.0, fmt::format("{:g}", hz), TextAnchor::middle, 10.0);
    }
    svg.text(width - right, foot + 36.0, "third-octave band, Hz", TextAnchor::end);
    return svg.finish();
}

} // namespace lull
