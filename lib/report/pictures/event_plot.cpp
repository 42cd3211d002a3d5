// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/event_plot.hpp"

#include "report/pictures/axis.hpp"
#include "report/pictures/png.hpp"
#include "report/pictures/svg.hpp"
#include "signal/extent.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace lull {
namespace {

constexpr double width = 720.0, left = 130.0, right = 30.0, top = 6.0, spectrogram_height = 100.0,
                 lane_height = 36.0, bottom = 38.0;
constexpr int steps = 16;       ///< of a waveform, on either side
constexpr int column_width = 2; ///< pixels
static_assert(width - left - right == waveform_columns * column_width);

/// One line that goes up and down once in each column. Moves are relative, to keep it short.
std::string outline(const WaveShape& wave) {
    std::string path;
    int at = 0, still = 0; // in steps; columns that were only a line
    const auto step = [&path](char way, int by) {
        path += way;
        std::array<char, 12> digits;
        path.append(digits.data(), std::to_chars(digits.begin(), digits.end(), by).ptr);
    };
    const auto flush = [&] {
        if (still > 0) step('h', still * column_width);
        still = 0;
    };
    const auto move = [&](int to) {
        if (to == at) return;
        flush();
        step('v', at - to); // SVG counts downward
        at = to;
    };
    for (std::size_t i = 0; i < wave.low.size(); ++i) {
        move(wave.high[i]);
        move(wave.low[i]);
        ++still;
    }
    flush();
    return path;
}

void draw_onset(Svg& svg, const Axis& time, std::optional<double> onset_s, double y,
                double height) {
    if (!onset_s || *onset_s < time.low || *onset_s > time.high) return;
    svg.line(time.at(*onset_s), y, time.at(*onset_s), y + height, 1.2, "5 3");
}

void draw_spectrogram(Svg& svg, const EventPlot& plot, const Axis& time) {
    const double x = time.at(plot.spectrogram_from_s);
    svg.image(x, top, time.at(plot.spectrogram_to_s) - x, spectrogram_height, plot.spectrogram);
    svg.text(left - 44.0, top + spectrogram_height / 2.0 + 4.0, plot.spectrogram_name,
             TextAnchor::end);
    const Axis hertz{0.0, plot.high_hz, top + spectrogram_height, top};
    for (const Tick& tick : number_ticks(0.0, plot.high_hz, 5)) {
        svg.line(left - 4.0, hertz.at(tick.value), left, hertz.at(tick.value));
        svg.text(left - 6.0, hertz.at(tick.value) + (tick.value > 0.0 ? 4.0 : 0.0), tick.label,
                 TextAnchor::end, 9.0);
    }
    svg.text(width - right + 3.0, top + 9.0, plot.frequency_axis, TextAnchor::start, 9.0);
    draw_onset(svg, time, plot.onset_s, top, spectrogram_height);
}

} // namespace

WaveShape wave_shape(std::span<const float> samples) {
    WaveShape shape;
    if (samples.empty()) return shape;
    std::array<float, waveform_columns> low{}, high{};
    const Extent all = extent_of(samples);
    for (std::size_t column = 0; column < waveform_columns; ++column) {
        const std::size_t first = column * samples.size() / waveform_columns;
        const std::size_t end =
            std::max(first + 1, (column + 1) * samples.size() / waveform_columns);
        const Extent own = extent_of(samples.subspan(first, end - first));
        low[column] = own.low;
        high[column] = own.high;
    }
    const auto mean = static_cast<float>(all.sum / static_cast<double>(samples.size()));
    const float largest = std::max(all.high - mean, mean - all.low);
    const float scale = largest > 0.0F ? static_cast<float>(steps) / largest : 0.0F;
    for (std::size_t column = 0; column < waveform_columns; ++column) {
        shape.low.push_back(static_cast<std::int8_t>(std::lround((low[column] - mean) * scale)));
        shape.high.push_back(static_cast<std::int8_t>(std::lround((high[column] - mean) * scale)));
    }
    return shape;
}

std::string event_plot_svg(const EventPlot& plot) {
    const bool spectrogram = !plot.spectrogram.empty();
    const double lanes_top = top + (spectrogram ? spectrogram_height + 6.0 : 0.0);
    const double base = lanes_top + lane_height * static_cast<double>(plot.lanes.size());
    Svg svg(width, base + bottom, plot.title);
    svg.attribute("data-from", fmt::format("{:.6f}", plot.from_s));
    svg.attribute("data-to", fmt::format("{:.6f}", plot.to_s));
    svg.attribute("data-left", fmt::format("{:.0f}", left));
    svg.attribute("data-right", fmt::format("{:.0f}", width - right));
    const double to_s = std::max(plot.to_s, plot.from_s + 1e-3);
    const Axis time{plot.from_s, to_s, left, width - right};
    if (spectrogram) draw_spectrogram(svg, plot, time);
    for (std::size_t i = 0; i < plot.lanes.size(); ++i) {
        const EventLane& lane = plot.lanes[i];
        const double y = lanes_top + lane_height * static_cast<double>(i);
        svg.text(left - 8.0, y + lane_height / 2.0 + 4.0, lane.name, TextAnchor::end);
        svg.path(left, y + lane_height / 2.0, outline(lane.wave), 0.8);
        draw_onset(svg, time, lane.onset_s, y + 1.0, lane_height - 2.0);
    }
    svg.line(left, base, width - right, base);
    const int decimals = to_s - plot.from_s < 5.0 ? 1 : 0;
    for (const Tick& tick : number_ticks(plot.from_s, to_s, 9)) {
        svg.line(time.at(tick.value), base, time.at(tick.value), base + 4.0);
        svg.text(time.at(tick.value), base + 16.0, fmt::format("{:.{}f}", tick.value, decimals),
                 TextAnchor::middle);
    }
    svg.text(width - right, base + 32.0, plot.time_axis, TextAnchor::end);
    return svg.finish();
}

} // namespace lull
