// SPDX-License-Identifier: GPL-3.0-or-later
//
// Signals by horn or whistle: blasts that follow each other in a pattern.
#pragma once

#include "detect/event.hpp"
#include "noise/quiet.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// What a signal is for. Quiet begins a quiet period; work (go on) and out (leave) end one.
enum class HornOrder { quiet, work, out, other };

struct BlastLength {
    double least_s = 0.0, most_s = 0.0;
};

/// A pattern of blasts and what it orders under the local rules.
struct HornPattern {
    std::string meaning;
    HornOrder order = HornOrder::other;
    std::vector<BlastLength> blasts;
};

/// The local rules; their file's form is data/schema/horn-patterns.schema.json.
struct HornRules {
    std::vector<HornPattern> patterns; ///< the first that fits names a signal
    double longest_gap_s = 2.5;        ///< between blasts of one signal
    std::string digest;                ///< SHA-256 of what they say; empty: those built in
};

/// data/horn-patterns.json, built in: one long blast stops work and orders quiet, three short ones
/// order everyone out, a long and a short one resume work (from memory: international search and
/// rescue guidelines and incident command practice; rules differ locally).
[[nodiscard]] const HornRules& usual_horn_rules();

/// \throws Error(input) naming file, place and what would be right
[[nodiscard]] HornRules load_horn_rules(const std::string& path);

/// Blasts that follow each other.
struct HornSignal {
    std::vector<int> events;       ///< numbers of the blasts
    std::vector<double> lengths_s; ///< of each
    double from_s = 0.0, to_s = 0.0;
    double confidence = 0.0;            ///< of the least sure blast
    std::optional<std::size_t> pattern; ///< index into the rules; none fits
};

/// \param events in order of onset, numbered
/// \param sure   confidence from which a horn is a blast
[[nodiscard]] std::vector<HornSignal> horn_signals(const std::vector<Event>& events,
                                                   const HornRules& rules, double sure);

/// Says in the `why` of each horn of confidence `sure` or more which pattern its blasts make: how
/// many, how long, and what that orders when the rules have it. A short tone alone that makes no
/// pattern is as likely the beep of a radio and stays under 0.5.
/// \param events in order of onset, numbered from 1; changed in place
void judge_horn_signals(std::vector<Event>& events, const HornRules& rules, double sure = 0.3);

/// Signals bound quiet periods: the order for quiet that came at most two minutes before one, or in
/// its first 20 s, begins it, so that it starts when the signal is over; an order for work or to
/// leave ends it when that begins. Both are noted, and lie outside it: they did not break it. What
/// is then shorter than a quiet period is dropped.
/// \param signals in order of time, of the confidence that counts
void bound_by_signals(std::vector<QuietPeriod>& periods, std::span<const HornSignal> signals,
                      const HornRules& rules);

} // namespace lull
