// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/comparison.hpp"

#include "compare/apply_clocks.hpp"
#include "compare/shared_events.hpp"
#include "detect/strength.hpp"
#include "report/json.hpp"
#include "review/stretch.hpp"
#include "review/strongest.hpp"
#include "review/unit_pass.hpp"
#include "review/work.hpp"

#include <algorithm>
#include <iterator>
#include <memory>
#include <utility>

namespace lull {
namespace {

/// Compares events on one thread.
class EventComparer {
  public:
    EventComparer(const Recording& recording, const Settings& settings,
                  const std::vector<Course>& courses, CompareWanted wanted)
        : recording_(&recording), band_(settings.band), courses_(&courses), wanted_(wanted),
          stream_(recording.open()),
          reader_(*stream_, analysis_filter(settings.band, recording.rate_hz), recording.rate_hz),
          raw_reader_(*stream_, {}, recording.rate_hz) {}

    Compared compare(const EventSpan& event) {
        Compared result;
        if (wanted_.energies) measure_energies(event, result.energies);
        if (wanted_.delays)
            result.delays = delays_of(event, *recording_, band_, reader_.as_function(),
                                      raw_reader_.as_function());
        return result;
    }

  private:
    void measure_energies(const EventSpan& event, std::vector<PeakEnergy>& energies) {
        const auto [first, last] = ranking_stretch(event, recording_->rate_hz, recording_->frames);
        const Block& block = reader_.read(first, last - first);
        for (int c = 0; c < block.channels; ++c) {
            const Course& course = (*courses_)[static_cast<std::size_t>(c)];
            const auto onset = static_cast<Frame>(event.onset_s * recording_->rate_hz);
            energies.push_back(
                {peak_energy(block.channel(c), recording_->rate_hz), course.floor_at(onset)});
        }
    }

    const Recording* recording_;
    Band band_;
    const std::vector<Course>* courses_;
    CompareWanted wanted_;
    std::unique_ptr<Stream> stream_;
    StretchReader reader_, raw_reader_;
};

EventSpan span_of(const Event& event) {
    EventSpan span{event.number, event.onset_s, event.end_s, {}};
    for (const Arrival& arrival : event.arrivals)
        span.channels.push_back(arrival.channel);
    return span;
}

} // namespace

std::vector<EventSpan> spans_of(const std::vector<Event>& events) {
    std::vector<EventSpan> spans;
    for (const Event& event : events)
        spans.push_back(span_of(event));
    return spans;
}

std::vector<EventSpan> spans_to_compare(const std::vector<Event>& events,
                                        std::vector<Notice>& notices) {
    std::vector<Contender> contenders;
    for (const Event& event : events)
        contenders.push_back(
            {event.onset_s, strength_db(event), event.confidence >= headline_confidence});
    const std::vector<char> taken =
        take_strongest(contenders, compared_an_hour, "events compared between channels", notices);
    std::vector<EventSpan> spans;
    for (std::size_t i = 0; i < events.size(); ++i)
        if (taken[i]) spans.push_back(span_of(events[i]));
    return spans;
}

void compare_each(const Recording& recording, const Settings& settings,
                  const std::vector<Course>& courses, std::span<const EventSpan> events,
                  CompareWanted wanted, int jobs, const ProgressSink& progress,
                  const std::function<void(const EventSpan&, Compared&&)>& take) {
    ProgressState state{"comparing channels", 0.0, static_cast<double>(events.size())};
    OrderedWork<Compared>::run(
        events.size(), jobs,
        [&]() -> OrderedWork<Compared>::Piece {
            auto comparer = std::make_shared<EventComparer>(recording, settings, courses, wanted);
            return [comparer, events](std::size_t number, const std::atomic<bool>&) {
                return comparer->compare(events[number]);
            };
        },
        [&](std::size_t number, Compared&& result) {
            take(events[number], std::move(result));
            state.done_s += 1.0;
        },
        [&] { progress(state); });
}

std::vector<ClockRow> tied_clocks(const Recording& recording, const Settings& settings,
                                  std::span<const EventSpan> events, int jobs,
                                  const ProgressSink& progress) {
    std::vector<ClockRow> clocks = clocks_of(recording.session);
    if (!need_tie(clocks)) return clocks;
    const std::vector<EventSpan> tying = tying_events(events);
    std::vector<DelayEstimate> delays;
    compare_each(recording, settings, {}, tying, {.energies = false}, jobs, progress,
                 [&](const EventSpan&, Compared&& one) {
                     std::ranges::move(one.delays, std::back_inserter(delays));
                 });
    tie_by_shared_events(clocks, tying, delays, recording);
    return clocks;
}

Comparison compare_events(const Recording& recording, const Settings& settings,
                          const std::vector<Course>& courses, const std::vector<Finding>& findings,
                          const std::vector<EventSpan>& events, int jobs,
                          const ProgressSink& progress) {
    Comparison comparison;
    TotalRanking total(recording, events.size());
    compare_each(recording, settings, courses, events, {}, jobs, progress,
                 [&](const EventSpan& event, Compared&& one) {
                     total.add(event, one.energies);
                     std::ranges::move(rank_event(event, one.energies, recording, findings),
                                       std::back_inserter(comparison.ranking));
                     std::ranges::move(one.delays, std::back_inserter(comparison.delays));
                 });
    std::ranges::move(total.rows(findings), std::back_inserter(comparison.ranking));
    comparison.clocks = clocks_of(recording.session);
    tie_by_shared_events(comparison.clocks, tying_events(events), comparison.delays, recording);
    apply_clocks(comparison.delays, events, recording, comparison.clocks);
    return comparison;
}

} // namespace lull
