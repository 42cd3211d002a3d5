// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everything that one pass over a recording finds.
#pragma once

#include "detect/event.hpp"
#include "detect/hail_chance.hpp"
#include "detect/scores.hpp"
#include "health/health.hpp"
#include "noise/levels.hpp"
#include "noise/quiet.hpp"
#include "recording/recording.hpp"
#include "review/course.hpp"
#include "review/progress.hpp"
#include "review/settings.hpp"

#include <functional>
#include <optional>
#include <span>
#include <vector>

namespace lull {

class UnitJournal;

/// What was found; times in seconds of the time line, channels by index. Empty where not wanted.
struct Analysis {
    Settings settings;
    std::vector<Course> courses;       ///< a channel each: level and floor second by second
    std::vector<ChannelHealth> health; ///< a channel each
    std::vector<Finding> findings;
    std::vector<NoiseLevel> noise; ///< rows of the noise table
    std::vector<QuietPeriod> quiet;
    std::vector<Event> events; ///< every event of settings.list_from and more
    std::vector<Series> series;
    std::vector<Hail> hails;
    std::optional<HailChance> hail_chance; ///< none without hails
    std::vector<ScoreTrack> scores;        ///< a channel each
    int unlisted = 0;                      ///< events under settings.list_from
};

/// Takes what each unit heard, in order of the units, on the thread that started the pass.
using ArrivalSink = std::function<void(std::span<const Arrival>)>;

/// Runs the pass on `jobs` threads. The result depends on recording and settings alone.
/// \param journal  takes finished units, and gives those that an earlier run finished; may be null
/// \param heard    told of each unit when it is done; may be null
/// \throws Error(input) when an input can no longer be read, Error(output) when the journal cannot
///         be written, and whatever `progress` throws
[[nodiscard]] Analysis analyse(const Recording& recording, const Settings& settings,
                               const Wanted& wanted, int jobs, const ProgressSink& progress,
                               UnitJournal* journal = nullptr, const ArrivalSink& heard = nullptr);

/// Drops events that are not to be listed and numbers what is left anew, series too. Series of
/// which no event is left are dropped.
void list_from(const Settings& settings, std::vector<Event>& events, std::vector<Series>& series);

/// Mean noise floor of each channel over the stretch, in the analysis band, as the scale at its
/// start reads it; 0: none.
[[nodiscard]] std::vector<double> mean_floors(const std::vector<Course>& courses,
                                              const Recording& recording);

} // namespace lull
