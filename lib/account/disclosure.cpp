// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/disclosure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace lull {
namespace {

bool meets_none(const std::vector<TimeSpan>& withheld, double from_s, double to_s) {
    return std::ranges::none_of(withheld, [&](const TimeSpan& stretch) {
        return stretch.from_s < to_s && from_s < stretch.to_s;
    });
}

struct LongestFirst {
    bool operator()(const std::string& a, const std::string& b) const {
        return a.size() != b.size() ? a.size() > b.size() : a < b;
    }
};

using Aliases = std::map<std::string, std::string, LongestFirst>;

/// Replaces the names in a text. Names of one or two letters stay: they say nothing, and may be
/// part of any word.
std::string without_names(const std::string& text, const Aliases& names) {
    constexpr std::size_t shortest = 3;
    std::string safe;
    for (std::size_t at = 0; at < text.size();) {
        const auto found = std::ranges::find_if(names, [&](const auto& named) {
            return named.first.size() >= shortest &&
                   text.compare(at, named.first.size(), named.first) == 0;
        });
        safe += found == names.end() ? std::string(1, text[at]) : found->second;
        at += found == names.end() ? 1 : found->first.size();
    }
    return safe;
}

/// Replaces channel names by numbers, wherever the session has them.
void hide_channels(Recording& recording, Aliases& names) {
    Aliases own;
    for (std::size_t c = 0; c < recording.channels.size(); ++c)
        own.emplace(recording.channels[c].name, fmt::format("channel {}", c + 1));
    const auto rename = [&](std::string& name) {
        if (const auto alias = own.find(name); alias != own.end()) name = alias->second;
    };
    for (Channel& channel : recording.channels)
        rename(channel.name);
    for (Channel& channel : recording.session.channels)
        rename(channel.name);
    for (Change& change : recording.session.changes)
        rename(change.channel);
    names.insert(own.begin(), own.end());
}

} // namespace

bool Disclosure::may_hear(double from_s, double to_s) const {
    return sound && meets_none(withheld, from_s, to_s);
}

bool Disclosure::may_see(double from_s, double to_s) const {
    return (sound || meets_none(voices, from_s, to_s)) && meets_none(withheld, from_s, to_s);
}

std::vector<TimeSpan> voices_in(const std::vector<Event>& events) {
    std::vector<TimeSpan> voices;
    for (const Event& event : events)
        if (event.kind == EventKind::voice_like) voices.push_back({event.onset_s, event.end_s});
    return voices;
}

void hide_details(Recording& recording) {
    // Longest names first, since one may be part of another.
    Aliases names;
    for (std::size_t i = 0; i < recording.inputs.size(); ++i) {
        InputFile& input = recording.inputs[i];
        names.emplace(input.label, fmt::format("input {}", i + 1));
        input.label = names.at(input.label);
    }
    int others = 0;
    for (const Notice& notice : recording.notices)
        if (!notice.file.empty() && !names.contains(notice.file))
            names.emplace(notice.file, fmt::format("other file {}", ++others));
    hide_channels(recording, names);
    for (Notice& notice : recording.notices) {
        if (const auto alias = names.find(notice.file); alias != names.end())
            notice.file = alias->second;
        notice.text = without_names(notice.text, names);
    }
    recording.session.label = recording.session.exhibit = "";
}

} // namespace lull
