// SPDX-License-Identifier: GPL-3.0-or-later
//
// The truth: that of an exercise, or a reviewer's judgements of a real recording.
#pragma once

#include "detect/event.hpp"
#include "grading/sheet.hpp"
#include "recording/start_time.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

struct TruthEvent {
    int number = 0; ///< from 1, in the order of the file
    double time_s = 0.0, end_s = 0.0;
    EventKind kind = EventKind::other;
    std::vector<std::string> channels; ///< any of these is right; empty: unknown
    std::optional<double> x_m, y_m, z_m;
    std::optional<double> snr_db;
    std::string note;
    /// Whether an event without an answer is a miss. False for the team's own hails and for events
    /// that a reviewer was unsure of; answering these is no false call either.
    bool asked = true;
};

/// Another sound that may have been mistaken for an event: a drip, a footstep, rain.
struct Surrounding {
    double from_s = 0.0, to_s = 0.0;
    std::string what, channel, note;
};

struct Truth {
    std::string file;
    std::vector<TruthEvent> events;
    std::vector<Surrounding> surroundings; ///< in order of from_s
};

/// Reads a truth table: time_s, end_s, kind, channel, x_m, y_m, z_m, snr_db, note. Rows of other
/// kinds than the four are surroundings. A note that begins with `hail` marks the team's own.
/// \param start  of the recording, for clock times, here and below
/// \throws Error(input) with line and column: an unreliable truth is not used for grading
[[nodiscard]] Truth parse_truth(std::string_view bytes, const std::string& file,
                                const StartTime& start = unknown_start());
[[nodiscard]] Truth read_truth(const std::string& file, const StartTime& start = unknown_start());

/// Adds the surroundings in a notes file of the same columns to a truth.
void add_surroundings(Truth& truth, const std::string& notes_file,
                      const StartTime& start = unknown_start());

/// A reviewer's decision on an event.
struct Judgement {
    int line = 0;
    std::string when, reviewer;
    double onset_s = 0.0;
    std::string channel;
    std::optional<EventKind> old_kind, new_kind;
    std::optional<double> new_onset_s; ///< the begin that the reviewer heard
    std::string verdict;               ///< agree, disagree or unsure
    std::string reason;
};

/// Reads a judgements table. A later line of the same reviewer on the same onset and channel
/// replaces an earlier one. \throws Error(input) with line and column
[[nodiscard]] std::vector<Judgement> parse_judgements(std::string_view bytes,
                                                      const std::string& file,
                                                      const StartTime& start = unknown_start());

/// One reviewer's judgements as truth: `agree` is an event, `unsure` an event not asked for, and
/// `disagree` a surrounding. Its onset is the reviewer's if that was moved. SNR and end come from
/// the judged events where these are given.
/// \param events  number, onset and strongest channel's name as judged; may be empty
struct JudgedEvent {
    double onset_s = 0.0, end_s = 0.0;
    std::optional<double> snr_db;
};
[[nodiscard]] Truth truth_from_judgements(std::span<const Judgement> judgements,
                                          std::span<const JudgedEvent> events);

} // namespace lull
