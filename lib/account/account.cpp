// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/account.hpp"

#include "account/internal/night_gaps.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace lull {
namespace {

/// A recording under changed names. Its samples are those of the original, which outlives it.
class HiddenRecording : public Recording {
  public:
    explicit HiddenRecording(const Recording& original)
        : Recording(original), original_(&original) {
        hide_details(*this);
    }
    [[nodiscard]] std::unique_ptr<Stream> open() const override { return original_->open(); }

  private:
    const Recording* original_;
};

/// What a channel that is known by name is called now; an empty name stays empty.
class ChannelNames {
  public:
    ChannelNames(const Recording& before, const Recording& now) : before_(before), now_(now) {}

    [[nodiscard]] std::optional<std::string> of(const std::string& name) const {
        const auto found = std::ranges::find(before_.channels, name, &Channel::name);
        if (found == before_.channels.end()) return std::nullopt;
        return now_.channels[static_cast<std::size_t>(found - before_.channels.begin())].name;
    }
    [[nodiscard]] std::string of_list(const std::string& names) const {
        std::string list;
        for (std::size_t at = 0; at <= names.size();) {
            const std::size_t end = std::min(names.find(';', at), names.size());
            const std::string name = names.substr(at, end - at);
            list += (at > 0 ? ";" : "") + of(name).value_or(name);
            at = end + 1;
        }
        return list;
    }

  private:
    const Recording& before_;
    const Recording& now_;
};

/// Removes what persons wrote from the log and the judgements, and renames the channels in them.
void hide_people(Account& account, const ChannelNames& names) {
    constexpr std::array actions = {"quiet ordered", "call-out", "listening to",
                                    "heard",         "moved",    "gain"};
    for (LogRow& row : account.log) {
        row.person = row.text = "";
        if (std::ranges::find(actions, row.action) == actions.end()) row.action = "note";
    }
    for (JudgementRow& row : account.judgements) {
        row.reviewer = row.reason = "";
        row.channel = names.of(row.channel).value_or("");
    }
    for (SettingShown& setting : account.provenance.settings)
        if (auto* text = std::get_if<std::string>(&setting.value)) *text = names.of_list(*text);
}

} // namespace

Account concluded(Account facts, const HornRules& horns, std::optional<std::int64_t> not_listed) {
    const FindInput heard{facts.provenance.recording,
                          facts.from_s,
                          facts.to_s,
                          facts.events,
                          facts.series,
                          facts.hails,
                          facts.quiet,
                          &facts.findings,
                          facts.log,
                          facts.judgements,
                          &horns};
    facts.finds = gather_finds(heard);
    facts.counts = count_finds(facts.finds, facts.events, not_listed);
    facts.night = sum_up(heard, facts.finds);
    return facts;
}

Account without_details(Account whole) {
    const Recording& before = whole.recording();
    whole.hidden = std::make_shared<HiddenRecording>(before);
    hide_people(whole, ChannelNames(before, *whole.hidden));
    whole.provenance.recording = whole.hidden.get();
    whole.provenance.settings.push_back({"details", Cell(std::string("left out")), 0});
    whole.places.clear();
    for (Contact& contact : whole.contacts)
        contact.position_m = {};
    whole.night.not_analysed = not_analysed(*whole.hidden, whole.from_s, whole.to_s);
    return whole;
}

const NamedPlace* place_of(const Account& account, const Find& find) {
    const std::string name =
        find.series ? fmt::format("series {}", *find.series) : std::to_string(find.best);
    const auto found = std::ranges::find(account.places, name, &NamedPlace::name);
    return found == account.places.end() ? nullptr : &*found;
}

} // namespace lull
