// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/analysis.hpp"

#include "detect/alarms.hpp"
#include "detect/false_rate.hpp"
#include "detect/horns.hpp"
#include "detect/join.hpp"
#include "detect/repeats.hpp"
#include "detect/series.hpp"
#include "noise/scale_changes.hpp"
#include "recording/units.hpp"
#include "review/channel_faults.hpp"
#include "review/joining.hpp"
#include "review/journal.hpp"
#include "review/search_again.hpp"
#include "review/unit_pass.hpp"
#include "review/work.hpp"
#include "synthesis/exercise_signs.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <utility>

namespace lull {
namespace {

/// Confidence of events that count as having broken a quiet period, or followed a hail: the
/// headline's, so that a drip does not pass for an answer.
constexpr double counting_confidence = 0.5;

/// Events that count as having broken each period.
void note_breaks(std::vector<QuietPeriod>& quiet, const std::vector<Event>& events) {
    for (QuietPeriod& period : quiet)
        for (const Event& event : events)
            if (event.confidence >= counting_confidence && event.onset_s >= period.from_s &&
                event.onset_s < period.to_s)
                period.broken_by.push_back(event.number);
}

/// The quiet periods of the site, from the level of every channel, bounded by signals.
std::vector<QuietPeriod> find_quiet(const Recording& recording, const std::vector<Course>& courses,
                                    const std::vector<Event>& events, const HornRules& horns) {
    if (courses.empty()) return {};
    std::vector<std::vector<float>> levels;
    for (const Course& course : courses) {
        levels.push_back(course.level);
        refer_powers(levels.back(), 1, course.first, course.hop,
                     ScaleChanges(recording, static_cast<int>(levels.size()) - 1, course.first), 0);
    }
    std::vector<QuietPeriod> quiet = quiet_periods(levels, recording.seconds(courses.front().first),
                                                   recording.seconds(courses.front().hop));
    bound_by_signals(quiet, horn_signals(events, horns, counting_confidence), horns);
    note_breaks(quiet, events);
    return quiet;
}

/// Powers come as the scale at `from` reads them and go as that at each row's start does.
std::vector<NoiseLevel> noise_rows(const std::vector<BandLevels>& channels,
                                   const Recording& recording, Frame from) {
    std::vector<NoiseLevel> rows;
    for (std::size_t c = 0; c < channels.size(); ++c) {
        std::vector<NoiseLevel> own = channels[c].levels(static_cast<int>(c), recording.rate_hz);
        const ScaleChanges changes(recording, static_cast<int>(c), from);
        for (NoiseLevel& row : own) {
            const double factor =
                changes.factor(static_cast<Frame>(std::llround(row.from_s * recording.rate_hz)));
            for (double* power : {&row.floor, &row.median, &row.level})
                *power /= factor;
        }
        rows.insert(rows.end(), own.begin(), own.end());
    }
    return rows;
}

/// Shares work among threads where there is enough of it.
ForEach on_threads(int jobs, const std::function<void()>& poll) {
    return [=](std::size_t count, const std::function<void(std::size_t)>& work) {
        constexpr std::size_t enough = 16;
        if (jobs < 2 || count < enough) return one_by_one(count, work);
        OrderedWork<char>::run(
            count, jobs,
            [&]() -> OrderedWork<char>::Piece {
                return [&](std::size_t number, const std::atomic<bool>&) {
                    work(number);
                    return char{};
                };
            },
            [](std::size_t, char&&) {}, poll);
    };
}

void hear(Analysis& analysis, const Recording& recording, std::vector<Arrival> arrivals,
          const ForEach& each) {
    std::erase_if(arrivals, [&recording](const Arrival& arrival) {
        if (!recording.exercise) return false;
        return arrival.shape.sustained
                   ? within_exercise_sign(arrival.onset_s, arrival.end_s, recording.duration_s())
                   : within_exercise_sign(arrival.onset_s, recording.duration_s());
    });
    analysis.events = join_events(std::move(arrivals), recording.session, recording.channels);
    analysis.series = find_series(analysis.events, each);
    tell_alarms(analysis.events, analysis.settings.horns);
    judge_horn_signals(analysis.events, analysis.settings.horns);
}

/// Leaves out what is not to be listed, and of the rest what events are told apart by.
void list(Analysis& analysis) {
    const std::size_t heard = analysis.events.size();
    list_from(analysis.settings, analysis.events, analysis.series);
    tell_likeness(analysis.events);
    analysis.unlisted = static_cast<int>(heard - analysis.events.size());
    for (Event& event : analysis.events)
        for (Arrival& arrival : event.arrivals) {
            arrival.shape.imprint = {};
            arrival.shape.band_db = {};
        }
}

/// Hails, and whether more followed them than chance would have it.
void find_answers(Analysis& analysis, const Recording& recording,
                  const std::vector<QuietPeriod>& quiet) {
    HailRules rules;
    rules.least_confidence = counting_confidence;
    rules.channel = analysis.settings.hail_channel;
    analysis.hails = find_hails(analysis.settings.log, analysis.events, rules);
    const std::vector<ListenedSpan> listened = listened_time(
        quiet, analysis.hails,
        {recording.seconds(analysis.settings.from), recording.seconds(analysis.settings.to)});
    analysis.hail_chance = hail_chance(analysis.hails, analysis.events, listened, rules);
    mark_hails(analysis.events, analysis.hails);
}

struct DoneUnit {
    UnitResult result;
    bool earlier = false; ///< by a run before this one
};

DoneUnit do_unit(UnitPass& pass, const Unit& unit, UnitJournal* journal,
                 const std::atomic<bool>& stop) {
    if (journal != nullptr)
        if (std::optional<UnitResult> known = journal->find(unit)) return {std::move(*known), true};
    DoneUnit done{pass.run(unit, stop)};
    if (journal != nullptr && !stop) journal->keep(unit, done.result);
    return done;
}

/// The file that holds a frame, or the last before it.
std::string file_at(const Recording& recording, Frame frame) {
    const InputFile* best = &recording.inputs.front();
    for (const InputFile& input : recording.inputs)
        if (input.first <= frame && input.first >= best->first) best = &input;
    return best->label;
}

} // namespace

std::vector<double> mean_floors(const std::vector<Course>& courses, const Recording& recording) {
    std::vector<double> means;
    for (const Course& course : courses) {
        const ScaleChanges changes(recording, static_cast<int>(means.size()), course.first);
        double sum = 0.0, steps = 0.0;
        for (std::size_t i = 0; i < course.floor.size(); ++i) {
            const Frame begin = course.first + static_cast<Frame>(i) * course.hop;
            if (course.floor.size() > 1 && changes.within(begin, begin + course.hop)) continue;
            sum += static_cast<double>(course.floor[i]) * changes.factor(begin);
            steps += 1.0;
        }
        means.push_back(steps > 0.0 ? sum / steps : 0.0);
    }
    return means;
}

void list_from(const Settings& settings, std::vector<Event>& events, std::vector<Series>& series) {
    std::erase_if(events, [&](const Event& event) {
        const double least =
            settings.false_per_hour ? confidence_for(event.kind, *settings.false_per_hour) : 0.0;
        return event.confidence < std::max(least, settings.list_from);
    });
    std::map<int, Series> kept;
    for (const Series& one : series)
        kept[one.number] = one;
    for (auto& [old_number, one] : kept)
        one.events.clear();
    int number = 0;
    for (Event& event : events) {
        event.number = ++number;
        if (event.series) kept[*event.series].events.push_back(event.number);
    }
    std::map<int, int> numbers; // of series, by their old ones
    std::erase_if(kept, [](const auto& entry) { return entry.second.events.empty(); });
    series.clear();
    for (auto& [old_number, one] : kept) {
        one.number = static_cast<int>(series.size()) + 1;
        for (const int member : one.events)
            events[static_cast<std::size_t>(member) - 1].series = one.number;
        numbers[old_number] = one.number;
        series.push_back(std::move(one));
    }
    for (Event& event : events)
        if (event.like) event.like->series = numbers[event.like->series];
}

Analysis analyse(const Recording& recording, const Settings& settings, const Wanted& wanted,
                 int jobs, const ProgressSink& progress, UnitJournal* journal,
                 const ArrivalSink& heard) {
    const std::vector<Unit> units =
        plan_units(recording.frames, recording.rate_hz, settings.from, settings.to);
    Analysis analysis;
    analysis.settings = settings;
    UnitResult joined;
    ProgressState state{"analysing", 0.0, recording.seconds(settings.to - settings.from), true};
    if (recording.inputs.size() > 1) state.file = file_at(recording, settings.from);
    OrderedWork<DoneUnit>::run(
        units.size(), jobs,
        [&]() -> OrderedWork<DoneUnit>::Piece {
            auto pass = std::make_shared<UnitPass>(recording, settings, wanted);
            return [pass, &units, journal](std::size_t number, const std::atomic<bool>& stop) {
                return do_unit(*pass, units[number], journal, stop);
            };
        },
        [&](std::size_t number, DoneUnit&& done) {
            if (heard) heard(done.result.arrivals);
            join(joined, std::move(done.result));
            const Unit& unit = units[number];
            const double length_s = recording.seconds(unit.core_end - unit.core_begin);
            state.done_s += length_s;
            if (done.earlier) state.earlier_s += length_s;
            if (recording.inputs.size() > 1) state.file = file_at(recording, unit.core_end);
        },
        [&] { progress(state); });
    analysis.courses = std::move(joined.courses);
    analysis.scores = std::move(joined.scores);
    analysis.health = std::move(joined.health);
    analysis.noise = noise_rows(joined.levels, recording, settings.from);
    if (hears(wanted))
        hear(analysis, recording, std::move(joined.arrivals),
             on_threads(jobs, [&] { progress(state); }));
    if (wanted.health) judge_channels(analysis, recording, jobs, progress);
    // After the channels are judged: that must not hang on whether events are wanted.
    if (wanted.events || wanted.quiet) search_again(analysis, recording, jobs, progress);
    list(analysis);
    if (wanted.events || wanted.quiet) {
        std::vector<QuietPeriod> quiet =
            find_quiet(recording, analysis.courses, analysis.events, settings.horns);
        find_answers(analysis, recording, quiet);
        if (wanted.quiet) analysis.quiet = std::move(quiet);
    }
    return analysis;
}

} // namespace lull
