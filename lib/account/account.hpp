// SPDX-License-Identifier: GPL-3.0-or-later
//
// All that a review found, as one value that nothing changes afterwards. Every table, page, picture
// and message is made from one, by way of `const Account&`.
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
    Provenance provenance;                   ///< its recording is told as it may be shown
    std::shared_ptr<const Recording> hidden; ///< that recording, where it is not the original
    Disclosure disclosure;                   ///< what sound and pictures may be handed on
    Band band;                               ///< analysed
    double from_s = 0.0, to_s = 0.0;

    std::vector<Event> events; ///< as listed, numbered from 1 in order of onset
    std::vector<Series> series;
    std::vector<Hail> hails;
    std::optional<HailChance> hail_chance; ///< none without hails
    std::vector<QuietPeriod> quiet;
    std::vector<ChannelHealth> health; ///< a channel each
    std::vector<Finding> findings;
    std::vector<double> floors; ///< a channel each: mean square in the band; 0: unknown
    std::vector<NoiseLevel> noise;
    std::vector<RankRow> ranking;
    std::vector<DelayEstimate> delays;
    std::vector<ClockRow> clocks;
    std::vector<NamedPlace> places;
    std::vector<Contact> contacts; ///< of the sensors; empty where too few sources have a place
    std::vector<LogRow> log;
    std::vector<JudgementRow> judgements;

    // What follows from these; concluded() fills it in.
    std::vector<Find> finds; ///< most deserving first
    FindCounts counts;
    Night night;

    [[nodiscard]] const Recording& recording() const { return *provenance.recording; }
    [[nodiscard]] const Event& event(int number) const {
        return events[static_cast<std::size_t>(number) - 1];
    }
};

/// The account with what follows from its facts.
/// \param not_listed  events under the listing limit, where known
[[nodiscard]] Account concluded(Account facts, const HornRules& horns,
                                std::optional<std::int64_t> not_listed);

/// The account that may be given away: nothing in it names people, places or files, and it has no
/// coordinates. Channels are called by their number.
[[nodiscard]] Account without_details(Account whole);

/// Where the find, or its series, came from; null where it was not placed.
[[nodiscard]] const NamedPlace* place_of(const Account& account, const Find& find);

} // namespace lull
