// SPDX-License-Identifier: GPL-3.0-or-later
//
// Hails: the team's own calls and knocks, and what was heard after them.
#pragma once

#include "detect/event.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// A row of the operators' log, its time placed on the time line.
struct LogRow {
    double time_s = 0.0;
    std::string person;
    std::string action; ///< "call-out" marks a hail; other actions are passed over
    std::vector<int> channels;
    std::string text;
};

struct HailRules {
    double written_within_s = 5.0; ///< a log's time is written by hand: the call is this near it
    /// What goes on for longer is never taken for a call that the log tells of: a person who keeps
    /// knocking must not be taken for the team.
    double longest_s = 15.0;
    double answer_within_s = 15.0; ///< what begins this long after a hail has followed it
    double least_confidence = 0.1; ///< of an event that counts as having followed
    /// The channel at the team: what is strong there, tapping or voice-like, is the team's own.
    std::optional<int> channel;
    double own_snr_db = 15.0; ///< on that channel, at least
    double own_over_db = 6.0; ///< over the SNR on every other channel
    double own_pause_s = 3.0; ///< calls and knocks no further apart are one hail
};

/// Hails from the log's call-outs, and from the channel at the team where the rules name one. Of
/// the log: each is placed at the strongest event within written_within_s of its row (on the row's
/// channels, when it names some) that is no horn, with what is of its series right before and after
/// it, else at the row's own time. On the channel: events of least_confidence and more that are
/// strong there and weaker everywhere else. A hail that both tell of is one. What followed: events
/// that begin after its end, within answer_within_s or before the next hail, and are not part of
/// it.
///
/// \param log    in any order
/// \param events in order of onset, as find_series left them
/// \return in time order, numbered from 1
[[nodiscard]] std::vector<Hail> find_hails(std::span<const LogRow> log,
                                           const std::vector<Event>& events,
                                           const HailRules& rules = {});

/// Writes onto each event of a hail which it is part of. \param events  by number
void mark_hails(std::vector<Event>& events, std::span<const Hail> hails);

/// When an answer to a hail is listened for: from its end to this time.
[[nodiscard]] double answer_until(const std::vector<Hail>& hails, std::size_t hail,
                                  const HailRules& rules);

} // namespace lull
