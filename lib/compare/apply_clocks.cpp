// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/apply_clocks.hpp"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace lull {
namespace {

constexpr const char* not_tied = "the recorders' clocks are not tied";
constexpr const char* loosely_tied =
    "how well the clocks are tied is not known: give three clock checks";

/// A channel's clock against the reference at one time.
struct Tie {
    int recording = 0; ///< 0: all recordings follow each other, on one clock
    double own_offset_s = 0.0, own_drift_ppm = 0.0; ///< what the session says of the channel
    std::optional<double> offset_s, sigma_s;        ///< none: not tied; not known how well
};

Tie tie_of(const Recording& recording, int index, double time_s, std::span<const ClockRow> clocks) {
    const Channel channel =
        channel_at(recording.session, recording.channels[static_cast<std::size_t>(index)], time_s);
    Tie tie{channel.recording.value_or(0), channel.clock_offset_s, channel.clock_drift_ppm, {}, {}};
    const auto row = std::ranges::find(clocks, tie.recording, &ClockRow::recording);
    if (row != clocks.end() && row->offset_s) {
        tie.offset_s = *row->offset_s + row->drift_ppm.value_or(0.0) * 1e-6 * time_s;
        tie.sigma_s = row->sigma_s;
    }
    return tie;
}

bool one_clock(const Tie& a, const Tie& b) {
    return a.recording == b.recording && a.own_offset_s == b.own_offset_s &&
           a.own_drift_ppm == b.own_drift_ppm;
}

} // namespace

void apply_clocks(std::span<DelayEstimate> delays, std::span<const EventSpan> events,
                  const Recording& recording, std::span<const ClockRow> clocks) {
    std::vector<std::pair<int, double>> onsets;
    for (const EventSpan& event : events)
        onsets.emplace_back(event.event, event.onset_s);
    std::ranges::stable_sort(onsets, {}, &std::pair<int, double>::first);
    for (DelayEstimate& delay : delays) {
        const auto event =
            std::ranges::lower_bound(onsets, delay.event, {}, &std::pair<int, double>::first);
        const bool known = event != onsets.end() && event->first == delay.event;
        const double time_s = known ? event->second : 0.0;
        const Tie a = tie_of(recording, delay.channel_a, time_s, clocks),
                  b = tie_of(recording, delay.channel_b, time_s, clocks);
        if (one_clock(a, b)) continue;
        if (a.offset_s && b.offset_s) {
            delay.delay_s += *b.offset_s - *a.offset_s;
            if (delay.other) delay.other->delay_s += *b.offset_s - *a.offset_s;
        }
        if (a.sigma_s && b.sigma_s) {
            delay.sigma_s = std::hypot(delay.sigma_s, *a.sigma_s, *b.sigma_s);
            if (delay.other)
                delay.other->sigma_s = std::hypot(delay.other->sigma_s, *a.sigma_s, *b.sigma_s);
            continue;
        }
        if (!delay.usable) continue;
        delay.usable = false;
        delay.reason = a.offset_s && b.offset_s ? loosely_tied : not_tied;
    }
}

bool is_untied(const DelayEstimate& delay) {
    return !delay.usable && (delay.reason == not_tied || delay.reason == loosely_tied);
}

} // namespace lull
