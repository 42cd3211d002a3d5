// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everything that a review found, bundled for the page and report.json.
#pragma once

#include "compare/delay.hpp"
#include "compare/ranking.hpp"
#include "detect/event.hpp"
#include "detect/hail_chance.hpp"
#include "detect/hails.hpp"
#include "health/finding.hpp"
#include "picture/event_plot.hpp"
#include "picture/time_line.hpp"
#include "report/excerpt.hpp"
#include "report/json.hpp"
#include "report/language.hpp"
#include "report/read_tables.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

/// How spectrograms of events are made, by the review and by the page's script: windows of so long,
/// up to so high, the loudest so many decibels, and so many windows and rows of pixels at most.
inline constexpr double picture_window_s = 0.032, picture_high_hz = 4000.0, picture_range_db = 60.0;
inline constexpr int picture_columns = 240, picture_rows = 80;

/// What is drawn of an event: a spectrogram of the channel that heard it best, and the waveform of
/// each that heard it.
struct EventPicture {
    int event = 0;
    int channel = 0;
    double from_s = 0.0, to_s = 0.0, high_hz = 0.0, range_db = 0.0;
    std::string png; ///< the spectrogram's file; its first column begins at png_from_s
    double png_from_s = 0.0, png_to_s = 0.0;
    std::vector<std::pair<int, WaveShape>> waves; ///< by channel, the loudest first
};

/// Where the sound of an event, or of a slice of a recording, is: a script in excerpts/ that hands
/// it to the page's own. Events close together share one, which holds more than the sound of each.
struct SoundScript {
    int event = 0; ///< or number of the slice
    double from_s = 0.0, to_s = 0.0;
    std::vector<int> channels; ///< to be chosen from, the loudest first
    std::string file;
};

/// A map of where an event or a series came from.
struct PlacePicture {
    std::string name, evidence, svg; ///< "3" or "series 2"
};

struct ReportData {
    Provenance provenance; ///< its recording outlives this
    std::string digest;    ///< SHA-256 of report.json: what a judgement was about
    Band band;             ///< analysed
    EventCounts counts;
    std::vector<Table> tables; ///< that the page shows: channels, findings, hails
    double from_s = 0.0, to_s = 0.0;
    std::vector<LevelCourse> courses; ///< a channel each
    std::vector<QuietMark> quiet;
    std::vector<Event> events; ///< as listed
    std::vector<RankRow> ranking;
    std::vector<DelayEstimate> delays;
    std::vector<Excerpt> excerpts; ///< files in excerpts/ beside the page
    std::vector<SoundScript> sounds;
    std::vector<EventPicture> pictures;
    std::vector<PlacePicture> places;
    std::optional<HailChance> hail_chance; ///< none without hails
    std::vector<PlacePicture> audible; ///< what would have been listed; name: the stretch of time
    std::vector<LogRow> log;
    std::vector<JudgementRow> judgements;
    Language language = Language::english(); ///< of the page
};

/// The rule of the page's order, as the page's language says it: tapping and voice-like of
/// confidence 0.5 and more, then other kinds of 0.5 and more and strong blows, then the team's own
/// hails, which the page lists by themselves, then the rest; within each by confidence in steps of
/// 0.1, then by SNR, then by time. \return indices into events
[[nodiscard]] std::vector<std::size_t> most_deserving_first(const std::vector<Event>& events);

/// How many of them the page shows one by one, with sound and pictures: all of confidence 0.5 and
/// more, strong blows and hails, up to some hundreds, and at least the first sixty.
[[nodiscard]] std::size_t events_shown(const std::vector<Event>& events);

/// Counts the listed events. \param not_listed those under the listing limit, where known
[[nodiscard]] EventCounts count_events(const std::vector<Event>& events,
                                       std::optional<std::int64_t> not_listed);

} // namespace lull
