// SPDX-License-Identifier: GPL-3.0-or-later
//
// All that a review found, as one immutable value. Every table, page, picture and message is made
// from a `const Account&`.
#pragma once

#include "account/disclosure.hpp"
#include "account/find.hpp"
#include "account/judgement.hpp"
#include "account/named_place.hpp"
#include "account/night.hpp"
#include "account/provenance.hpp"
#include "compare/clocks.hpp"
#include "compare/delay.hpp"
#include "compare/ranking.hpp"
#include "detect/event.hpp"
#include "detect/hail_chance.hpp"
#include "detect/hails.hpp"
#include "health/health.hpp"
#include "locate/contacts.hpp"
#include "noise/levels.hpp"
#include "noise/quiet.hpp"
#include "recording/recording.hpp"

#include <memory>
#include <optional>
#include <vector>

namespace lull {

struct Account {
    Provenance provenance;                   ///< its recording has the names that may be shown
    std::shared_ptr<const Recording> hidden; ///< that recording, where it is not the original
    Disclosure disclosure;                   ///< which sound and pictures may be handed on
    Band band;                               ///< that was analysed
    double from_s = 0.0, to_s = 0.0;

    std::vector<Event> events; ///< listed ones, numbered from 1 in order of onset
    std::vector<Series> series;
    std::vector<Hail> hails;
    std::optional<HailChance> hail_chance; ///< empty without hails
    std::vector<QuietPeriod> quiet;
    std::vector<ChannelHealth> health; ///< one a channel
    std::vector<Finding> findings;
    std::vector<double> floors; ///< one a channel: mean square in the band; 0: unknown
    std::vector<NoiseLevel> noise;
    std::vector<RankRow> ranking;
    std::vector<DelayEstimate> delays;
    std::vector<ClockRow> clocks;
    std::vector<NamedPlace> places;
    std::vector<Contact> contacts; ///< of the sensors; empty where too few sources have a place
    std::vector<LogRow> log;
    std::vector<JudgementRow> judgements;

    // Computed from the above by concluded().
    std::vector<Find> finds; ///< the one that most deserves a listen first
    FindCounts counts;
    Night night;

    [[nodiscard]] const Recording& recording() const { return *provenance.recording; }
    [[nodiscard]] const Event& event(int number) const {
        return events[static_cast<std::size_t>(number) - 1];
    }
};

/// Computes what follows from the facts.
/// \param not_listed  number of events under the listing limit, where known
[[nodiscard]] Account concluded(Account facts, const HornRules& horns,
                                std::optional<std::int64_t> not_listed);

/// The account without details, which may be given away: it names no people, places or files, and
/// has no coordinates. Channels are called by their number.
[[nodiscard]] Account without_details(Account whole);

/// The place of the find or of its series; null where it was not located.
[[nodiscard]] const NamedPlace* place_of(const Account& account, const Find& find);

} // namespace lull
