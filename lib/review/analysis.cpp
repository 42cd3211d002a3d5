// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/analysis.hpp"

#include "detect/join.hpp"
#include "detect/series.hpp"
#include "recording/units.hpp"
#include "review/unit_pass.hpp"
#include "review/work.hpp"

#include <map>
#include <memory>
#include <utility>

namespace lull {
namespace {

/// What has been joined of the units so far.
struct Joined {
    std::vector<ChannelHealth> health;
    std::vector<BandLevels> levels;
    std::vector<Arrival> arrivals;
};

template <class Part> void join(std::vector<Part>& whole, std::vector<Part>&& next) {
    if (whole.empty()) {
        whole = std::move(next);
        return;
    }
    for (std::size_t c = 0; c < next.size(); ++c) append(whole[c], next[c]);
}

void join(Joined& whole, std::vector<Course>& courses, UnitResult&& next) {
    join(whole.health, std::move(next.health));
    join(whole.levels, std::move(next.levels));
    join(courses, std::move(next.courses));
    whole.arrivals.insert(whole.arrivals.end(), std::make_move_iterator(next.arrivals.begin()),
                          std::make_move_iterator(next.arrivals.end()));
}

void hear(Analysis& analysis, const Recording& recording, std::vector<Arrival> arrivals,
          std::span<const LogRow> log) {
    analysis.events = join_events(std::move(arrivals), recording.session, recording.channels);
    analysis.series = find_series(analysis.events);
    list_from(analysis.settings.list_from, analysis.events, analysis.series);
    analysis.hails = find_hails(log, analysis.events);
}

} // namespace

void list_from(double least, std::vector<Event>& events, std::vector<Series>& series) {
    std::erase_if(events, [least](const Event& event) { return event.confidence < least; });
    std::map<int, Series> kept;
    for (const Series& one : series) kept[one.number] = one;
    for (auto& [old_number, one] : kept) one.events.clear();
    int number = 0;
    for (Event& event : events) {
        event.number = ++number;
        if (event.series) kept[*event.series].events.push_back(event.number);
    }
    std::erase_if(kept, [](const auto& entry) { return entry.second.events.empty(); });
    series.clear();
    for (auto& [old_number, one] : kept) {
        one.number = static_cast<int>(series.size()) + 1;
        for (const int member : one.events)
            events[static_cast<std::size_t>(member) - 1].series = one.number;
        series.push_back(std::move(one));
    }
}

Analysis analyse(const Recording& recording, const Settings& settings, const Wanted& wanted, int jobs,
                 const ProgressSink& progress) {
    const std::vector<Unit> units =
        plan_units(recording.frames, recording.rate_hz, settings.from, settings.to);
    Analysis analysis;
    analysis.settings = settings;
    Joined joined;
    ProgressState state{"analysing", 0.0, recording.seconds(settings.to - settings.from)};
    OrderedWork<UnitResult>::run(
        units.size(), jobs,
        [&]() -> OrderedWork<UnitResult>::Piece {
            auto pass = std::make_shared<UnitPass>(recording, settings, wanted);
            return [pass, &units](std::size_t number, const std::atomic<bool>& stop) {
                return pass->run(units[number], stop);
            };
        },
        [&](std::size_t number, UnitResult&& result) {
            join(joined, analysis.courses, std::move(result));
            state.done_s += recording.seconds(units[number].core_end - units[number].core_begin);
        },
        [&] { progress(state); });
    analysis.health = std::move(joined.health);
    settle_health(analysis, recording, wanted);
    if (wanted.noise) settle_noise(analysis, recording, joined.levels);
    if (wanted.events) hear(analysis, recording, std::move(joined.arrivals), settings.log);
    return analysis;
}

} // namespace lull
