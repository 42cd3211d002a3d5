// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/channel_faults.hpp"

#include "health/shared.hpp"
#include "review/comparison.hpp"
#include "review/stretch.hpp"
#include "review/unit_pass.hpp"
#include "review/work.hpp"

#include <algorithm>
#include <map>
#include <memory>
#include <tuple>

namespace lull {
namespace {

constexpr std::size_t most_events = 200;

/// Only sensors of one kind that are known to feel the same can be held against each other: of a
/// channel of unknown kind nothing is said.
std::vector<int> comparable_groups(const Recording& recording, double time_s) {
    std::map<std::tuple<ChannelKind, std::string, std::string>, int> numbers;
    std::vector<int> groups;
    for (const Channel& channel : recording.channels) {
        const Channel now = channel_at(recording.session, channel, time_s);
        const auto next = static_cast<int>(numbers.size());
        const int number =
            numbers.emplace(std::tuple(now.kind, now.axis, level_scale(now).unit), next)
                .first->second;
        groups.push_back(now.kind == ChannelKind::unknown ? -1 : number);
    }
    return groups;
}

/// What refers each channel's levels to one gain: the calibration, or the gain that is stated.
std::vector<double> scales(const Recording& recording, double time_s) {
    std::vector<double> db;
    for (const Channel& channel : recording.channels) {
        const Channel now = channel_at(recording.session, channel, time_s);
        const bool calibrated = now.sensitivity && now.full_scale_v;
        db.push_back(calibrated ? level_scale(now).offset_db : -now.gain_db);
    }
    return db;
}

/// SNR on the second best channel that has a floor to set others' against: what makes an event
/// shared.
double second_snr_db(const Event& event) {
    std::vector<double> snr;
    for (const Arrival& arrival : event.arrivals)
        if (arrival.floor_power > 0.0) snr.push_back(arrival.snr_db);
    std::ranges::sort(snr, std::greater());
    return snr.size() < 2 ? 0.0 : snr[1];
}

/// The events that most clearly reached several channels, in order of time.
std::vector<EventSpan> shared_spans(const std::vector<Event>& events) {
    std::vector<Event> shared;
    std::ranges::copy_if(events, std::back_inserter(shared),
                         [](const Event& event) { return second_snr_db(event) > 0.0; });
    std::ranges::stable_sort(
        shared, [](const Event& a, const Event& b) { return second_snr_db(a) > second_snr_db(b); });
    if (shared.size() > most_events) shared.resize(most_events);
    std::ranges::stable_sort(shared,
                             [](const Event& a, const Event& b) { return a.onset_s < b.onset_s; });
    return spans_of(shared);
}

std::vector<Finding> shared_findings(const Analysis& analysis, const Recording& recording, int jobs,
                                     const ProgressSink& progress) {
    const std::vector<EventSpan> spans = shared_spans(analysis.events);
    if (spans.empty()) return {};
    SharedEvents shared(comparable_groups(recording, spans.front().onset_s), recording.rate_hz);
    ProgressState state{"comparing channels", 0.0, static_cast<double>(spans.size())};
    OrderedWork<SharedEvents::Event>::run(
        spans.size(), jobs,
        [&]() -> OrderedWork<SharedEvents::Event>::Piece {
            const std::shared_ptr<Stream> stream = recording.open();
            auto reader = std::make_shared<StretchReader>(
                *stream, analysis_filter(analysis.settings.band, recording.rate_hz),
                recording.rate_hz);
            return [&, stream, reader](std::size_t number, const std::atomic<bool>&) {
                const auto [first, last] =
                    ranking_stretch(spans[number], recording.rate_hz, recording.frames);
                std::vector<double> floors;
                for (const Course& course : analysis.courses)
                    floors.push_back(course.floor_at(first));
                return shared.measure(reader->read(first, last - first), floors,
                                      scales(recording, spans[number].onset_s));
            };
        },
        [&](std::size_t, SharedEvents::Event&& event) {
            shared.add(std::move(event));
            state.done_s += 1.0;
        },
        [&] { progress(state); });
    return shared.findings(spans.front().onset_s, spans.back().end_s);
}

} // namespace

void judge_channels(Analysis& analysis, const Recording& recording, int jobs,
                    const ProgressSink& progress) {
    std::vector<ChannelFacts> facts;
    for (std::size_t c = 0; c < analysis.health.size(); ++c)
        facts.push_back({recording.channels[c].kind,
                         ScaleChanges(recording, static_cast<int>(c), analysis.health[c].first),
                         recording.session.mains_hz});
    analysis.findings = findings(analysis.health, recording.rate_hz, facts);
    const std::vector<Finding> shared = shared_findings(analysis, recording, jobs, progress);
    analysis.findings.insert(analysis.findings.end(), shared.begin(), shared.end());
    std::ranges::stable_sort(analysis.findings, [](const Finding& a, const Finding& b) {
        return a.channel < b.channel;
    });
}

} // namespace lull
