// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/excerpts.hpp"

#include "error.hpp"
#include "report/folder.hpp"
#include "report/read_first.hpp"
#include "report/read_tables.hpp"
#include "review/review_folder.hpp"
#include "review/stretch.hpp"

#include <algorithm>
#include <memory>

namespace lull {
namespace {

constexpr const char* tool = "lull-excerpt";

std::vector<int> pair_of(const Recording& recording, const std::vector<std::string>& names) {
    if (names.size() != 2) throw_usage("--pair takes two channels", "give A,B");
    std::vector<int> channels;
    for (const std::string& name : names) {
        const auto found = std::ranges::find(recording.channels, name, &Channel::name);
        if (found == recording.channels.end())
            throw_usage("--pair: there is no channel '" + name + "'",
                        "give names as in the events table");
        channels.push_back(static_cast<int>(found - recording.channels.begin()));
    }
    return channels;
}

} // namespace

int write_excerpts(const Recording& recording, const ExcerptsRequest& request,
                   const ProgressSink& progress) {
    const std::vector<EventRow> events = read_events(request.events_file, recording);
    const std::vector<int> pair =
        request.kind == ExcerptKind::pair ? pair_of(recording, request.pair) : std::vector<int>{};
    std::vector<std::string> inputs = input_paths(recording);
    inputs.push_back(request.events_file);
    OutputFolder folder(request.folder, tool, inputs);
    const auto stream = recording.open();
    StretchReader reader(*stream, {}, recording.rate_hz);
    const ExcerptRules rules;
    std::vector<std::string> sounds;
    int left_out = 0;
    ProgressState state{"cutting excerpts", 0.0, static_cast<double>(events.size())};
    for (const EventRow& event : events) {
        progress(state);
        ExcerptRequest one{event.event, event.onset_s, event.end_s, request.kind, {event.channel}};
        if (request.kind == ExcerptKind::mix) one.channels = event.channels;
        if (request.kind == ExcerptKind::pair) one.channels = pair;
        state.done_s += 1.0;
        const auto [from_s, to_s] = excerpt_stretch(one, rules, recording);
        if (!request.disclosure.may_hear(from_s, to_s)) {
            ++left_out;
            continue;
        }
        const std::string name = excerpt_name(one, rules, recording);
        (void)write_excerpt(recording, reader.as_function(), one, rules, folder.path_of(name));
        sounds.push_back(name);
    }
    folder.write("READ-FIRST.txt", read_first_text(recording, sounds, request.disclosure));
    folder.publish(request.run);
    return left_out;
}

} // namespace lull
