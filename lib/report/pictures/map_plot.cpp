// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/map_plot.hpp"

#include "report/pictures/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double width_px = 480.0, margin_px = 30.0, head_px = 34.0, most_px = 480.0;
constexpr double line_px = 15.0;

struct Frame2 {
    double left = 1e300, right = -1e300, low = 1e300, high = -1e300;
    double scale = 1.0, height = 0.0;

    void include(double x, double y) {
        left = std::min(left, x), right = std::max(right, x);
        low = std::min(low, y), high = std::max(high, y);
    }
    [[nodiscard]] double px(double x) const { return margin_px + (x - left) * scale; }
    [[nodiscard]] double py(double y) const { return head_px + margin_px + (high - y) * scale; }
};

Frame2 frame_of(const MapPlot& plot) {
    Frame2 frame;
    for (const MapSensor& sensor : plot.sensors)
        frame.include(sensor.x_m, sensor.y_m);
    for (const MapRegion& region : plot.regions)
        for (const auto& point : region.outline)
            frame.include(point[0], point[1]);
    for (const MapLine& line : plot.lines)
        for (const auto& point : line)
            frame.include(point[0], point[1]);
    for (const MapText& text : plot.texts)
        frame.include(text.x_m, text.y_m);
    if (frame.left > frame.right) frame.include(0.0, 0.0);
    const double wide = std::max(1.0, frame.right - frame.left),
                 tall = std::max(1.0, frame.high - frame.low);
    // Names are written to the right of their signs, so that side needs most room.
    frame.left -= 0.06 * wide, frame.right += 0.28 * wide;
    frame.low -= 0.08 * tall, frame.high += 0.08 * tall;
    frame.scale = std::min((width_px - 2.0 * margin_px) / (frame.right - frame.left),
                           most_px / (frame.high - frame.low));
    frame.height = (frame.high - frame.low) * frame.scale;
    return frame;
}

std::vector<std::pair<double, double>> on_page(const Frame2& frame, const MapLine& line,
                                               bool closed) {
    std::vector<std::pair<double, double>> points;
    for (const auto& point : line)
        points.emplace_back(frame.px(point[0]), frame.py(point[1]));
    if (closed && !points.empty()) points.push_back(points.front());
    return points;
}

void draw_scale(Svg& svg, const Frame2& frame, double y) {
    const double most_m = 0.3 * (width_px - 2.0 * margin_px) / frame.scale;
    double length_m = std::pow(10.0, std::floor(std::log10(most_m)));
    for (const double times : {5.0, 2.0})
        if (times * length_m <= most_m) {
            length_m *= times;
            break;
        }
    const double end = margin_px + length_m * frame.scale;
    svg.line(margin_px, y, end, y, 2.0);
    svg.line(margin_px, y - 4.0, margin_px, y + 4.0, 1.0);
    svg.line(end, y - 4.0, end, y + 4.0, 1.0);
    svg.text(end + 6.0, y + 4.0, fmt::format("{:g} m", length_m));
}

void draw_north(Svg& svg, double x, double y, const std::string& word) {
    svg.line(x, y + 18.0, x, y - 6.0, 1.4);
    svg.line(x, y - 6.0, x - 4.0, y + 2.0, 1.4);
    svg.line(x, y - 6.0, x + 4.0, y + 2.0, 1.4);
    svg.text(x - 8.0, y + 8.0, word, TextAnchor::end);
}

void draw_sensor(Svg& svg, const Frame2& frame, const MapSensor& sensor) {
    const double x = frame.px(sensor.x_m), y = frame.py(sensor.y_m);
    svg.sign(sensor.round ? Sign::ring : Sign::square, x, y, 9.0, sensor.name + " " + sensor.note);
    svg.label(x + 8.0, y + 4.0, sensor.name);
    if (!sensor.note.empty())
        svg.label(x + 8.0, y + 4.0 + line_px, sensor.note, TextAnchor::start, 10.0);
}

} // namespace

std::string map_plot_svg(const MapPlot& plot) {
    const Frame2 frame = frame_of(plot);
    const double foot = head_px + 2.0 * margin_px + frame.height;
    const auto legend_lines = static_cast<double>(plot.legend.size());
    Svg svg(width_px, foot + 24.0 + line_px * legend_lines + 10.0, plot.title);
    svg.text(margin_px, 22.0, plot.title, TextAnchor::start, 14.0);
    for (const MapLine& line : plot.lines)
        svg.polyline(on_page(frame, line, false), 0.5);
    for (const MapRegion& region : plot.regions)
        svg.polyline(on_page(frame, region.outline, true), region.inner ? 2.6 : 1.1);
    for (const MapText& text : plot.texts)
        svg.label(frame.px(text.x_m), frame.py(text.y_m) + 4.0, text.text, TextAnchor::middle,
                  10.0);
    for (const MapSensor& sensor : plot.sensors)
        draw_sensor(svg, frame, sensor);
    for (const MapPlace& place : plot.places) {
        const double x = frame.px(place.x_m), y = frame.py(place.y_m);
        svg.sign(Sign::cross, x, y, 14.0, place.name);
        svg.label(x + 9.0, y - 6.0, place.name);
    }
    draw_scale(svg, frame, foot);
    draw_north(svg, width_px - margin_px, foot - 6.0, plot.north);
    double y = foot + 24.0;
    for (const std::string& line : plot.legend) {
        svg.text(margin_px, y, line, TextAnchor::start, 10.0);
        y += line_px;
    }
    return svg.finish();
}

} // namespace lull
