// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/channel_plot.hpp"

#include "report/pictures/axis.hpp"
#include "report/pictures/svg.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

constexpr double width = 900.0, left = 310.0, right = 24.0, top = 46.0, row_height = 18.0,
                 strip_gap = 16.0, bottom = 44.0, least_width = 3.0;
constexpr std::size_t most_characters = 18; // of a name; the kinds of finding are written beside it

/// The kinds of finding of a channel, in order of appearance.
std::vector<std::string> kinds_of(const ChannelFaults& channel) {
    std::vector<std::string> kinds;
    for (const FaultMark& fault : channel.faults)
        if (std::find(kinds.begin(), kinds.end(), fault.name) == kinds.end())
            kinds.push_back(fault.name);
    return kinds;
}

void draw_bar(Svg& svg, double x, double y, double length, int severity, const std::string& note) {
    const double w = std::max(least_width, length), h = row_height - 6.0;
    if (severity == 0) return svg.line(x, y, x + w, y, 2.0);
    svg.hatched(x, y - h / 2.0, w, h, note);
    const double stroke = severity >= 2 ? 2.5 : 0.6;
    svg.line(x, y - h / 2.0, x + w, y - h / 2.0, stroke);
    svg.line(x, y + h / 2.0, x + w, y + h / 2.0, stroke);
    svg.line(x, y - h / 2.0, x, y + h / 2.0, stroke);
    svg.line(x + w, y - h / 2.0, x + w, y + h / 2.0, stroke);
}

void draw_key(Svg& svg) {
    const char* words[] = {"to be known", "makes doubtful", "makes unfit"};
    for (int severity = 0; severity < 3; ++severity) {
        const double x = left + 170.0 * severity;
        draw_bar(svg, x, 20.0, 30.0, severity, words[severity]);
        svg.text(x + 38.0, 24.0, words[severity]);
    }
}

} // namespace

std::string channel_plot_svg(const std::vector<ChannelFaults>& channels, double from_s,
                             double to_s) {
    double height = top + bottom;
    for (const ChannelFaults& channel : channels)
        height +=
            row_height * static_cast<double>(std::max<std::size_t>(1, kinds_of(channel).size())) +
            strip_gap;
    Svg svg(width, height, "Fitness of each channel over time");
    draw_key(svg);
    if (!(to_s > from_s)) to_s = from_s + 1.0;
    const Axis time{from_s, to_s, left, width - right};
    double y = top;
    for (const ChannelFaults& channel : channels) {
        const std::vector<std::string> kinds = kinds_of(channel);
        svg.line(10.0, y - strip_gap / 2.0, width - right, y - strip_gap / 2.0, 0.3);
        svg.text(10.0, y + row_height / 2.0 + 4.0,
                 fmt::format("{}: {}", shortened(channel.name, most_characters), channel.fitness),
                 TextAnchor::start, 12.0);
        if (kinds.empty())
            svg.text(left + 6.0, y + row_height / 2.0 + 4.0, "no fault found", TextAnchor::start,
                     10.0);
        for (std::size_t row = 0; row < kinds.size(); ++row) {
            const double middle = y + row_height * (static_cast<double>(row) + 0.5);
            svg.text(left - 8.0, middle + 4.0, kinds[row], TextAnchor::end, 10.0);
            for (const FaultMark& fault : channel.faults)
                if (fault.name == kinds[row])
                    draw_bar(svg, time.at(fault.from_s), middle,
                             time.at(fault.to_s) - time.at(fault.from_s), fault.severity,
                             fmt::format("{} {}-{}", fault.name, time_label(fault.from_s, 1),
                                         time_label(fault.to_s, 1)));
        }
        y += row_height * static_cast<double>(std::max<std::size_t>(1, kinds.size())) + strip_gap;
    }
    const double foot = y - strip_gap / 2.0;
    svg.line(left, foot, width - right, foot);
    for (const Tick& tick : time_ticks(from_s, to_s, 9)) {
        svg.line(time.at(tick.value), top - strip_gap / 2.0, time.at(tick.value), foot, 0.2);
        svg.line(time.at(tick.value), foot, time.at(tick.value), foot + 5.0);
        svg.text(time.at(tick.value), foot + 18.0, tick.label, TextAnchor::middle, 10.0);
    }
    svg.text(width - right, foot + 36.0,
             to_s < 3600.0 ? "time from the start, m:ss" : "time from the start, h:mm:ss",
             TextAnchor::end);
    return svg.finish();
}

} // namespace lull
