// SPDX-License-Identifier: GPL-3.0-or-later
//
// The delays of one event between all channels that heard it.
#include "compare/envelope_onset.hpp"
#include "compare/first_arrival.hpp"
#include "detect/join.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

namespace lull {
namespace {

constexpr double lead_s = 0.02;         ///< before the first onset
constexpr double longest_event_s = 0.4; ///< of an event that is used: the first arrivals tell
constexpr double noise_s = 0.8;         ///< before the event
constexpr double onset_lead_s = 0.05;   ///< before the first onset, of envelopes
constexpr double onset_rise_s = 0.15;   ///< from the first onset to the strongest wave
/// Of the waveforms' delays being right: where they differ from the envelopes' by so many of the
/// envelopes' sigmas (mean square root over the pairs), and where they do not.
constexpr double agreeing_sigmas = 2.0;
constexpr double right_if_agreeing = 0.9, right_if_not = 0.2;

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

/// Where each channel stood at the event.
std::vector<Channel> channels_at(const EventSpan& event, const Recording& recording) {
    std::vector<Channel> now;
    for (const Channel& channel : recording.channels)
        now.push_back(channel_at(recording.session, channel, event.onset_s));
    return now;
}

/// Stretches of an event on the time line.
struct EventStretch {
    Frame begin, length, noise_begin;
};

EventStretch stretch_of(const EventSpan& event, double rate_hz, double before_s, double length_s) {
    const auto frames_of = [rate_hz](double seconds) {
        return static_cast<Frame>(std::llround(seconds * rate_hz));
    };
    const Frame begin = std::max<Frame>(0, frames_of(event.onset_s) - frames_of(before_s));
    return {begin, frames_of(before_s + length_s), std::max<Frame>(0, begin - frames_of(noise_s))};
}

using Onsets = std::vector<std::optional<EnvelopeOnset>>;

/// By channel of the recording.
Onsets onsets_of(const EventSpan& event, const std::vector<Channel>& now, double longest_s,
                 double rate_hz, const StretchOf& raw_stretch) {
    const double search_s = onset_lead_s + longest_s + onset_rise_s;
    const EventStretch at =
        stretch_of(event, rate_hz, onset_lead_s, longest_s + onset_rise_s + 0.05);
    const Block& block = raw_stretch(at.noise_begin, at.begin + at.length - at.noise_begin);
    Onsets onsets(now.size());
    for (const ChannelKind kind : {ChannelKind::seismic, ChannelKind::air, ChannelKind::unknown}) {
        EnvelopeInput input{&block,
                            {},
                            std::clamp<Frame>(at.begin - block.first, 0, block.frames),
                            rate_hz,
                            search_s};
        for (const int c : event.channels)
            if (now[static_cast<std::size_t>(c)].kind == kind) input.channels.push_back(c);
        const Onsets found = envelope_onsets(input);
        for (std::size_t i = 0; i < found.size(); ++i)
            onsets[static_cast<std::size_t>(input.channels[i])] = found[i];
    }
    return onsets;
}

/// The delay by envelopes; none where one of the two tells no onset, or where the way is too short
/// for it.
std::optional<OtherDelay> by_envelope(const Onsets& onsets, int a, int b, double longest_s) {
    const auto &at_a = onsets[static_cast<std::size_t>(a)],
               &at_b = onsets[static_cast<std::size_t>(b)];
    if (!at_a || !at_b || std::abs(at_b->time_s - at_a->time_s) > longest_s) return std::nullopt;
    const double path_s = std::hypot(at_a->path_sigma_s, at_b->path_sigma_s);
    return OtherDelay{at_b->time_s - at_a->time_s,
                      std::hypot(path_s, at_a->noise_sigma_s, at_b->noise_sigma_s), path_s, 0.0};
}

/// Makes the likelier delay the estimate's own, and keeps the other.
void choose_method(DelayEstimate& estimate, OtherDelay envelope, double right) {
    if (estimate.usable && right >= 0.5) {
        envelope.probability = 1.0 - right;
        estimate.other = envelope;
        return;
    }
    if (estimate.usable)
        estimate.other =
            OtherDelay{estimate.delay_s, estimate.sigma_s, estimate.path_sigma_s, right};
    estimate.delay_s = envelope.delay_s;
    estimate.sigma_s = envelope.sigma_s;
    estimate.path_sigma_s = envelope.path_sigma_s;
    estimate.method = DelayMethod::envelope;
    estimate.usable = true;
    estimate.reason.clear();
}

/// All pairs of one event and kind have one method: the waves are the same ones.
///
/// \param longest_of  longest delay between two channels [s]
void add_envelopes(std::vector<DelayEstimate>& estimates, const std::vector<Channel>& now,
                   const Onsets& onsets,
                   const std::function<double(std::size_t, std::size_t)>& longest_of) {
    const auto envelope_of = [&](const DelayEstimate& estimate) {
        const int a = estimate.channel_a, b = estimate.channel_b;
        return by_envelope(onsets, a, b,
                           longest_of(static_cast<std::size_t>(a), static_cast<std::size_t>(b)));
    };
    for (const ChannelKind kind : {ChannelKind::seismic, ChannelKind::air, ChannelKind::unknown}) {
        double squares = 0.0, pairs = 0.0;
        const auto of_kind = [&](const DelayEstimate& estimate) {
            return now[static_cast<std::size_t>(estimate.channel_a)].kind == kind;
        };
        for (const DelayEstimate& estimate : estimates) {
            const auto envelope = envelope_of(estimate);
            if (!of_kind(estimate) || !estimate.usable || !envelope) continue;
            const double apart = (estimate.delay_s - envelope->delay_s) /
                                 std::hypot(envelope->sigma_s, estimate.sigma_s);
            squares += apart * apart, pairs += 1.0;
        }
        const bool agree = pairs > 0.0 && squares <= agreeing_sigmas * agreeing_sigmas * pairs;
        for (DelayEstimate& estimate : estimates)
            if (const auto envelope = envelope_of(estimate); envelope && of_kind(estimate))
                choose_method(estimate, *envelope, agree ? right_if_agreeing : right_if_not);
    }
}

} // namespace

std::vector<DelayEstimate> delays_of(const EventSpan& event, const Recording& recording, Band band,
                                     const StretchOf& stretch, const StretchOf& raw_stretch) {
    const double rate_hz = recording.rate_hz;
    const std::vector<Channel> now = channels_at(event, recording);
    const double extent_m = site_extent_m(now);
    const auto longest_of = [&](std::size_t a, std::size_t b) {
        return largest_delay_s(now[a], now[b], recording.session.propagation, extent_m);
    };
    double longest_s = 0.0;
    for (const int a : event.channels)
        for (const int b : event.channels) {
            const auto first = static_cast<std::size_t>(a), second = static_cast<std::size_t>(b);
            if (a < b && now[first].kind == now[second].kind)
                longest_s = std::max(longest_s, longest_of(first, second));
        }
    if (longest_s == 0.0) return {};
    const Onsets onsets = onsets_of(event, now, longest_s, rate_hz, raw_stretch);
    const EventStretch at =
        stretch_of(event, rate_hz, lead_s,
                   longest_s + std::clamp(event.end_s - event.onset_s, 0.05, longest_event_s));
    const Block& block = stretch(at.noise_begin, at.begin + at.length - at.noise_begin);
    const auto split =
        static_cast<std::size_t>(std::clamp<Frame>(at.begin - block.first, 0, block.frames));
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
            DelayEstimate estimate = first_arrival_delay(heard[first], heard[second], band,
                                                         longest_of(first, second), room);
            estimate.event = event.event;
            estimate.channel_a = a;
            estimate.channel_b = b;
            estimates.push_back(std::move(estimate));
        }
    add_envelopes(estimates, now, onsets, longest_of);
    return estimates;
}

} // namespace lull
