// SPDX-License-Identifier: GPL-3.0-or-later
//
// An account, and what is shown beside it: pictures and sound, for the page and the summary.
#pragma once

#include "account/account.hpp"
#include "report/excerpt.hpp"
#include "report/language.hpp"
#include "report/pictures/event_plot.hpp"
#include "report/table.hpp"

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace lull {

/// How spectrograms of finds are made: windows of so long, up to so high, the loudest so many
/// decibels, and so many windows and rows of pixels at most.
inline constexpr double picture_window_s = 0.032, picture_high_hz = 4000.0, picture_range_db = 60.0;
inline constexpr int picture_columns = 240, picture_rows = 80;

/// What is drawn of a find: a spectrogram of the channel that heard it best, round its best event,
/// and the waveform of each channel that heard that.
struct FindPicture {
    int find = 0;
    int channel = 0;
    double from_s = 0.0, to_s = 0.0, high_hz = 0.0, range_db = 0.0;
    std::string png; ///< the spectrogram's file; its first column begins at png_from_s
    double png_from_s = 0.0, png_to_s = 0.0;
    std::string small_png;                        ///< the same for the list
    std::vector<std::pair<int, WaveShape>> waves; ///< by channel, the loudest first
};

/// A stretch of sound: a script that hands it to the page's own.
struct SoundScript {
    double from_s = 0.0, to_s = 0.0;
    std::vector<int> channels;
    std::string file;      ///< in the folder
    bool as_heard = false; ///< lossless and at the recording's own rate; else resampled and packed
};

/// A spectrogram of all of a channel: dark is over the usual level of its frequency.
struct Overview {
    double from_s = 0.0, to_s = 0.0, high_hz = 0.0;
    std::string png;
};

/// A map of where an event or a series came from.
struct PlacePicture {
    std::string name, evidence, svg; ///< "3" or "series 2"
};

struct ReportData {
    const Account* account = nullptr; ///< outlives this; needed
    Language language = Language::english();
    std::string digest;            ///< SHA-256 of report.json: what a judgement is about
    std::vector<Table> tables;     ///< that the page shows: channels, findings, hails
    std::vector<Excerpt> excerpts; ///< files in excerpts/ beside the page
    std::vector<SoundScript> sounds;
    std::vector<FindPicture> pictures;
    std::vector<Overview> overview; ///< a channel each
    std::vector<PlacePicture> places;
    std::vector<PlacePicture> audible; ///< what would have been listed; name: the stretch of time
};

/// How many finds, the most deserving, are shown one by one: all of confidence 0.5 and more and
/// strong blows, up to some hundreds, and at least the first sixty.
[[nodiscard]] std::size_t finds_shown(const std::vector<Find>& finds);

} // namespace lull
