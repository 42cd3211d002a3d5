// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tables read back: what one tool wrote, or a person by hand, for another to go on with. Columns
// are found by name in any order; others beside them are left aside.
#pragma once

#include "account/disclosure.hpp"
#include "account/judgement.hpp"
#include "detect/event.hpp"
#include "detect/hails.hpp"
#include "recording/recording.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace lull {

/// A row of an events table.
struct EventRow {
    int event = 0;
    EventKind kind = EventKind::other;
    double onset_s = 0.0, end_s = 0.0;
    int channel = 0;           ///< strongest
    std::vector<int> channels; ///< that heard it
    std::optional<int> series;
    std::optional<double> confidence, snr_db;
};

/// A row of a delays table.
struct DelayRow {
    int event = 0;
    int channel_a = 0, channel_b = 0;
    std::optional<double> delay_s, sigma_s, correlation; ///< arrival at b minus arrival at a
    std::optional<double> path_sigma_s;
    bool usable = false;
    std::string reason; ///< why not
    bool by_envelope = false;
    std::optional<double> other_delay_s, other_sigma_s, other_path_sigma_s, other_probability;
};

/// A row of a ranking table that belongs to one event (the rows for `all` are left out).
struct RankingRow {
    int event = 0;
    std::optional<int> rank; ///< none: not above the noise
    int channel = 0;
    std::optional<double> peak_energy_db, snr_db, below_strongest_db;
    std::string comparable; ///< "yes", "no", "assumed"
    std::string level_unit;
};

/// A row of a noise table.
struct NoiseRow {
    int channel = 0;
    double band_hz = 0.0, from_s = 0.0, to_s = 0.0;
    std::optional<double> floor_db, median_db, level_db;
    std::string level_unit;
};

/// The operators' log: rows that could be read, and a notice for each that could not.
struct OperatorsLog {
    std::vector<LogRow> rows;
    std::vector<Notice> notices;
};

/// All of these throw Error(input) with the line (header as 1) and column of the first fault: a
/// number that is none, a channel that the recording does not have, a time outside it.
[[nodiscard]] std::vector<EventRow> read_events(const std::string& file,
                                                const Recording& recording);
/// The same row after row, however many there are: none is kept.
void each_event(const std::string& file, const Recording& recording,
                const std::function<void(EventRow&&)>& take);
[[nodiscard]] std::vector<DelayRow> read_delays(const std::string& file,
                                                const Recording& recording);
[[nodiscard]] std::vector<RankingRow> read_ranking(const std::string& file,
                                                   const Recording& recording);
[[nodiscard]] std::vector<NoiseRow> read_noise(const std::string& file, const Recording& recording);
/// \param start  of the recording, for clock times
[[nodiscard]] std::vector<JudgementRow> read_judgements(const std::string& file,
                                                        const StartTime& start);

/// Stretches to withhold: a CSV table with from_s and to_s. \throws Error(input) naming the line of
/// a time that is none or upside down
/// \param start  of the recording, for clock times
[[nodiscard]] std::vector<TimeSpan> read_withheld(const std::string& file, const StartTime& start);

/// Columns time, action; and person, channels (`a;b`, names or numbers), text where they are there.
/// Times as parse_time reads them, and m:ss; 12:00 is a clock time only where twelve minutes lie
/// outside the recording. Written by hand, so a line that cannot be read becomes a notice
/// (degraded) and the others count. \throws Error(input) when the file as a whole cannot be read
[[nodiscard]] OperatorsLog read_log(const std::string& file, const Recording& recording);

} // namespace lull
