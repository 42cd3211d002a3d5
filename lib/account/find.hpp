// SPDX-License-Identifier: GPL-3.0-or-later
//
// Finds: groups of events that a person can act on. The team's own hails are never finds.
#pragma once

#include "account/judgement.hpp"
#include "detect/event.hpp"
#include "detect/hails.hpp"
#include "detect/horns.hpp"
#include "health/finding.hpp"
#include "noise/quiet.hpp"
#include "recording/recording.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// Headlines count finds of at least this confidence.
inline constexpr double headline_confidence = 0.5;

/// What joins the events of a find.
enum class FindForm {
    series, ///< taps of one source in a rhythm
    call,   ///< syllables that follow one another
    signal, ///< blasts of one horn signal
    again,  ///< a sound of a series, detected again by its waveform
    blow,   ///< one strong blow (detect/strength.hpp)
    single, ///< one event by itself
};

[[nodiscard]] const char* name_of(FindForm form); ///< "series", "call", "signal", ...

/// One reason for a judgement: a code and its figure, from the stage that measured it.
struct Evidence {
    std::string code;             ///< "rise_ms", "taps", "after_hail"
    std::optional<double> figure; ///< in the unit that the code names
    int decimals = 0;             ///< decimals worth showing
};

struct Find {
    int number = 0; ///< rank from 1, by how much it deserves a listen
    FindForm form = FindForm::single;
    EventKind kind = EventKind::other;
    double from_s = 0.0, to_s = 0.0;
    int channel = 0; ///< the one that heard it best
    std::vector<int> channels;
    std::vector<int> events; ///< their numbers, in order
    int best = 0;            ///< number of its best event: highest confidence, then highest SNR
    std::optional<int> series;
    double confidence = 0.0;
    double snr_db = no_snr_db;           ///< largest of its events
    std::optional<int> file;             ///< index of the input in which it begins
    std::optional<int> after_hail;       ///< number of the hail that it followed
    bool in_quiet = false;               ///< it began in a quiet period
    bool listened = false;               ///< a judgement or the log says that somebody heard it
    bool strong_blow = false;            ///< one of its events is a strong blow
    std::vector<std::size_t> judgements; ///< indices into those given
    std::vector<Evidence> evidence;
};

/// What finds are made from. All of it outlives the call.
struct FindInput {
    const Recording* recording = nullptr;
    double from_s = 0.0, to_s = 0.0; ///< what was analysed
    std::span<const Event> events;   ///< listed ones, in order of onset, numbered from 1
    std::span<const Series> series;
    std::span<const Hail> hails;
    std::span<const QuietPeriod> quiet;
    const std::vector<Finding>* findings = nullptr;
    std::span<const LogRow> log;
    std::span<const JudgementRow> judgements;
    const HornRules* horns = nullptr; ///< null: the built-in rules
};

/// The rule of the ranking, as reports state it.
inline constexpr std::string_view find_rule =
    "A series of taps, the syllables of a call, the blasts of a horn signal, the sound of a series "
    "that was found again, one strong blow and any other event of its own are one find each, with "
    "the highest confidence of its series and events. Tapping and voice-like of confidence 0.5 and "
    "more come first, then other kinds of 0.5 and more and strong blows, then the rest; within "
    "each by confidence in steps of 0.1; within a step what followed the team's own call comes "
    "first, then what began in a quiet period, then the higher signal-to-noise ratio, then the "
    "earlier. The team's own hails are not among them. Somebody has listened to it when a "
    "judgement lies within 0.2 s of one of its onsets, "
    "or the log says 'heard' within 5 s of it, on one of its channels.";

/// All finds, the one that most deserves a listen first.
[[nodiscard]] std::vector<Find> gather_finds(const FindInput& heard);

/// Numbers of finds, by confidence. Events of the team's own hails are counted apart.
struct FindCounts {
    std::int64_t headline = 0;              ///< finds of 0.5 and more
    std::int64_t lower = 0;                 ///< finds under 0.5
    std::int64_t of_hails = 0;              ///< listed events of the team's own hails
    std::optional<std::int64_t> not_listed; ///< events under the listing limit
    std::int64_t events = 0;                ///< listed events, those of hails included
};

/// \param not_listed  number of events under the listing limit, where known
[[nodiscard]] FindCounts count_finds(std::span<const Find> finds, std::span<const Event> events,
                                     std::optional<std::int64_t> not_listed);

/// Whether a find is always shown and printed: confidence 0.5 and more, or a strong blow.
[[nodiscard]] bool is_foremost(const Find& find);

} // namespace lull
