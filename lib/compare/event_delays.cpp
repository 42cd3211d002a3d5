// SPDX-License-Identifier: GPL-3.0-or-later
//
// The delays of one event between all channels that heard it.
#include "compare/first_arrival.hpp"
#include "detect/join.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double lead_s = 0.02;         ///< before the first onset
constexpr double longest_event_s = 0.4; ///< of an event that is used: the first arrivals tell
constexpr double noise_s = 0.8;         ///< before the event

double site_extent_m(const std::vector<Channel>& channels) {
    double largest = 0.0;
    for (const Channel& a : channels)
        for (const Channel& b : channels)
            if (a.position_m && b.position_m)
                largest = std::max(largest, std::hypot((*a.position_m)[0] - (*b.position_m)[0],
                                                       (*a.position_m)[1] - (*b.position_m)[1],
                                                       (*a.position_m)[2] - (*b.position_m)[2]));
    return largest;
}

} // namespace

std::vector<DelayEstimate> delays_of(const EventSpan& event, const Recording& recording, Band band,
                                     const StretchOf& stretch) {
    const double rate_hz = recording.rate_hz;
    const auto frames_of = [rate_hz](double seconds) {
        return static_cast<Frame>(std::llround(seconds * rate_hz));
    };
    std::vector<Channel> now;
    for (const Channel& channel : recording.channels)
        now.push_back(channel_at(recording.session, channel, event.onset_s));
    const double extent_m = site_extent_m(now);
    double longest_s = 0.0;
    for (const int a : event.channels)
        for (const int b : event.channels)
            if (a < b &&
                now[static_cast<std::size_t>(a)].kind == now[static_cast<std::size_t>(b)].kind)
                longest_s =
                    std::max(longest_s, largest_delay_s(now[static_cast<std::size_t>(a)],
                                                        now[static_cast<std::size_t>(b)],
                                                        recording.session.propagation, extent_m));
    if (longest_s == 0.0) return {};
    const Frame onset = frames_of(event.onset_s);
    const Frame begin = std::max<Frame>(0, onset - frames_of(lead_s));
    const Frame length = frames_of(lead_s + longest_s +
                                   std::clamp(event.end_s - event.onset_s, 0.05, longest_event_s));
    const Frame noise_begin = std::max<Frame>(0, begin - frames_of(noise_s));
    const Block& block = stretch(noise_begin, begin + length - noise_begin);
    const auto split =
        static_cast<std::size_t>(std::clamp<Frame>(begin - block.first, 0, block.frames));
    TransformRoom room;
    std::vector<HeardArrival> heard(now.size());
    for (const int c : event.channels)
        heard[static_cast<std::size_t>(c)] = heard_arrival(
            block.channel(c), split, 2.0 * lead_s + longest_s, rate_hz, band, longest_s, room);
    std::vector<DelayEstimate> estimates;
    for (const int a : event.channels)
        for (const int b : event.channels) {
            const auto first = static_cast<std::size_t>(a), second = static_cast<std::size_t>(b);
            if (a >= b || now[first].kind != now[second].kind) continue;
            DelayEstimate estimate = first_arrival_delay(
                heard[first], heard[second], band,
                largest_delay_s(now[first], now[second], recording.session.propagation, extent_m),
                room);
            estimate.event = event.event;
            estimate.channel_a = a;
            estimate.channel_b = b;
            estimates.push_back(std::move(estimate));
        }
    return estimates;
}

} // namespace lull
