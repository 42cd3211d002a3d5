// SPDX-License-Identifier: GPL-3.0-or-later
//
// What many hours came to: what deserves a listen first, hour by hour, and what was not analysed.
#pragma once

#include "detect/event.hpp"
#include "detect/hails.hpp"
#include "health/finding.hpp"
#include "noise/quiet.hpp"
#include "recording/recording.hpp"
#include "report/json.hpp"
#include "report/read_tables.hpp"

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// What a night is summed up from; all of it outlives the summary.
struct NightInput {
    const Recording* recording = nullptr;
    double from_s = 0.0, to_s = 0.0; ///< the stretch that was analysed
    std::span<const Event> events;   ///< as listed, in order of onset
    std::span<const Series> series;
    std::span<const Hail> hails;
    std::span<const QuietPeriod> quiet;
    const std::vector<Finding>* findings = nullptr;
    std::span<const LogRow> log;
    std::span<const JudgementRow> judgements;
};

/// One thing to listen to: a series of taps, or an event of its own. What is part of the team's own
/// hails is none.
struct Find {
    int rank = 0; ///< from 1: how much it deserves a listen
    EventKind kind = EventKind::other;
    double from_s = 0.0, to_s = 0.0;
    int channel = 0; ///< that heard it best
    std::vector<int> channels;
    std::vector<int> events; ///< numbers
    std::optional<int> series;
    double confidence = 0.0;
    double snr_db = no_snr_db;     ///< largest of its events
    std::optional<int> file;       ///< index into the inputs: where it begins
    std::optional<int> after_hail; ///< number of the hail that it followed
    bool in_quiet = false;         ///< began in a quiet period
    bool listened = false;         ///< a judgement, or the log, says that somebody heard it
};

/// Events that began in a stretch of time, those of the team's own hails left out.
struct Tally {
    double from_s = 0.0, to_s = 0.0;
    double analysed_s = 0.0; ///< of it
    int headline = 0, lower = 0;
    std::array<int, 4> of_kind{}; ///< of the headline ones, by EventKind
};

/// A quiet period and what was heard in it.
struct QuietTally {
    Tally heard;
    double drop_db = 0.0;
    std::optional<int> best; ///< rank of its best find
};

/// All findings of one name on one channel; none: a channel without any.
struct ChannelFault {
    int channel = 0;
    Fitness fitness = Fitness::fit;
    std::string finding; ///< empty: none
    int stretches = 0;
    double from_s = 0.0, to_s = 0.0; ///< first begin to last end
    std::string effect, remedy;
};

/// Something that was there, or should have been, and was not analysed.
struct NotAnalysed {
    std::string what; ///< "skipped", "cut short", "damaged", "changed" while it was read,
                      ///< "gap", "overlap", "outside" the stretch asked for, "channel" that was not
    std::string file; ///< or channel; may be empty
    std::optional<double> from_s, to_s;
    std::string why;
};

struct Night {
    std::vector<Find> finds; ///< by rank; none of the team's own hails
    std::vector<Hail> hails; ///< in order of time
    std::vector<Tally> hours;
    std::vector<QuietTally> quiet;
    std::vector<ChannelFault> faults; ///< each channel at least once
    std::vector<NotAnalysed> not_analysed;
    int files = 0, files_skipped = 0; ///< analysed at least in part; not at all
};

/// The rule of the ranking, as the summary itself states it.
inline constexpr std::string_view night_rule =
    "Taps of one series count as one, with the highest confidence of the series and its events. "
    "Ranked by confidence in steps of 0.1; within a step what followed the team's own call comes "
    "first, then what began in a quiet period, then the higher signal-to-noise ratio, then the "
    "earlier. The team's own hails are not among them. Somebody has listened to it when a "
    "judgement lies within 0.2 s of one of its onsets, "
    "or the log says 'heard' within 5 s of it, on one of its channels.";

[[nodiscard]] Night sum_up(const NightInput& input);

/// night.csv: a row each find, by rank.
[[nodiscard]] Table night_table(const Night& night, const Recording& recording);

/// night.json ("format": "lull-night"; data/schema/night.schema.json).
[[nodiscard]] std::string night_json(const Night& night, const Provenance& provenance,
                                     const EventCounts& counts);

/// A find as one says it: "02:00:28, tapping, 5 taps, stairwell, confidence 0.97, 14 dB over the
/// noise".
[[nodiscard]] std::string find_text(const Find& find, const Recording& recording);

inline constexpr std::size_t handover_most_bytes = 2048;

/// handover.txt: at most handover_most_bytes, in short sentences that can be read over a radio.
/// What was not analysed comes first.
[[nodiscard]] std::string handover_text(const Night& night, const Recording& recording,
                                        const EventCounts& counts);

} // namespace lull
