// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/comparison.hpp"

#include "compare/apply_clocks.hpp"
#include "compare/shared_events.hpp"
#include "review/stretch.hpp"
#include "review/unit_pass.hpp"
#include "review/work.hpp"

#include <memory>

namespace lull {
namespace {

/// One event compared.
struct Compared {
    std::vector<PeakEnergy> energies;
    std::vector<DelayEstimate> delays;
};

/// Compares events on one thread.
class EventComparer {
  public:
    EventComparer(const Recording& recording, const Settings& settings,
                  const std::vector<Course>& courses)
        : recording_(&recording), band_(settings.band), courses_(&courses),
          stream_(recording.open()),
          reader_(*stream_, analysis_filter(settings.band, recording.rate_hz), recording.rate_hz) {}

    Compared compare(const EventSpan& event) {
        Compared result;
        const auto [first, last] = ranking_stretch(event, recording_->rate_hz, recording_->frames);
        const Block& block = reader_.read(first, last - first);
        for (int c = 0; c < block.channels; ++c) {
            const Course& course = (*courses_)[static_cast<std::size_t>(c)];
            const auto onset = static_cast<Frame>(event.onset_s * recording_->rate_hz);
            result.energies.push_back(
                {peak_energy(block.channel(c), recording_->rate_hz), course.floor_at(onset)});
        }
        result.delays = delays_of(event, *recording_, band_, reader_.as_function());
        return result;
    }

  private:
    const Recording* recording_;
    Band band_;
    const std::vector<Course>* courses_;
    std::unique_ptr<Stream> stream_;
    StretchReader reader_;
};

} // namespace

std::vector<EventSpan> spans_of(const std::vector<Event>& events) {
    std::vector<EventSpan> spans;
    for (const Event& event : events) {
        EventSpan span{event.number, event.onset_s, event.end_s, {}};
        for (const Arrival& arrival : event.arrivals)
            span.channels.push_back(arrival.channel);
        spans.push_back(std::move(span));
    }
    return spans;
}

Comparison compare_events(const Recording& recording, const Settings& settings,
                          const std::vector<Course>& courses, const std::vector<Finding>& findings,
                          const std::vector<EventSpan>& events, int jobs,
                          const ProgressSink& progress) {
    Comparison comparison;
    std::vector<std::vector<PeakEnergy>> energies;
    ProgressState state{"comparing channels", 0.0, static_cast<double>(events.size())};
    OrderedWork<Compared>::run(
        events.size(), jobs,
        [&]() -> OrderedWork<Compared>::Piece {
            auto comparer = std::make_shared<EventComparer>(recording, settings, courses);
            return [comparer, &events](std::size_t number, const std::atomic<bool>&) {
                return comparer->compare(events[number]);
            };
        },
        [&](std::size_t number, Compared&& result) {
            const std::vector<RankRow> rows =
                rank_event(events[number], result.energies, recording, findings);
            comparison.ranking.insert(comparison.ranking.end(), rows.begin(), rows.end());
            comparison.delays.insert(comparison.delays.end(), result.delays.begin(),
                                     result.delays.end());
            energies.push_back(std::move(result.energies));
            state.done_s += 1.0;
        },
        [&] { progress(state); });
    const std::vector<RankRow> all = rank_all(events, energies, recording, findings);
    comparison.ranking.insert(comparison.ranking.end(), all.begin(), all.end());
    comparison.clocks = clocks_of(recording.session);
    tie_by_shared_events(comparison.clocks, events, comparison.delays, recording);
    apply_clocks(comparison.delays, events, recording, comparison.clocks);
    return comparison;
}

} // namespace lull
