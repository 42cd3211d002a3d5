// SPDX-License-Identifier: GPL-3.0-or-later
//
// Listens to a file of planar 32-bit floats and writes what detection measured, a line of JSON
// each: arrivals ("what": "arrival"), pairs of impulses ("pair"), tap groups ("group"), events and
// series. Used by scripts/train/knock_models.py.
//
//     detect_features FILE RATE CHANNELS KINDS [bare] [pairs]
//     detect_features schemas            the names of the features of each model, in order
//
// KINDS: one letter a channel, a, s or u. `bare`: pairs and groups as if no waveform had been
// looked at, which is so where candidates are dense. `pairs`: writes them, there are many.
#include "detect/confidence.hpp"
#include "detect/internal/group_features.hpp"
#include "detect/internal/rhythm.hpp"
#include "detect/internal/source.hpp"
#include "detect/listening.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>

using nlohmann::json;

namespace {

lull::ChannelKind kind_of(char letter) {
    return letter == 'a'   ? lull::ChannelKind::air
           : letter == 's' ? lull::ChannelKind::seismic
                           : lull::ChannelKind::unknown;
}

json common(const char* what, double onset_s, double end_s, double confidence) {
    return {{"what", what}, {"on", onset_s}, {"end", end_s}, {"confidence", confidence}};
}

/// Each impulse with those up to 1.6 s before it, the nearest 16.
void print_pairs(const std::vector<lull::Event>& events) {
    std::vector<const lull::Event*> impulses;
    for (const lull::Event& event : events)
        if (event.kind == lull::EventKind::tapping) impulses.push_back(&event);
    for (std::size_t j = 0; j < impulses.size(); ++j) {
        for (std::size_t back = 1; back <= std::min<std::size_t>(j, 16); ++back) {
            const lull::Event& a = *impulses[j - back];
            if (impulses[j]->onset_s - a.onset_s > lull::longest_interval_s) break;
            json row = common("pair", a.onset_s, impulses[j]->onset_s, 0.0);
            row["features"] = lull::pair_features(a, *impulses[j]);
            std::cout << row << '\n';
        }
    }
}

void print_groups(const std::vector<lull::Event>& events) {
    lull::Surroundings surroundings(events);
    const std::vector<lull::Chain> chains = lull::chain_alike(events);
    surroundings.add_runs(chains);
    for (const lull::Chain& chain : chains) {
        for (const lull::TapGroup& group : chain.groups) {
            if (group.count < 2) continue;
            const auto parts = lull::parts_of(events, chain, group);
            for (const lull::TapGroup& part : parts) {
                const auto& first = events[chain.members[part.first]];
                const auto& last = events[chain.members[part.first + part.count - 1]];
                json row = common("group", first.onset_s, last.onset_s, 0.0);
                row["features"] = lull::series_features(surroundings.features_of(chain, part));
                row["parts"] = parts.size(); // of the run that this one is of
                for (std::size_t i = 0; i < part.count; ++i)
                    row["taps"].push_back(events[chain.members[part.first + i]].onset_s);
                std::cout << row << '\n';
            }
        }
    }
}

} // namespace

int main(int argc, char** argv) {
    if (argc == 2 && std::string(argv[1]) == "schemas") {
        std::cout << json{{"impulse", lull::impulse_schema},
                          {"pair", lull::pair_schema},
                          {"series", lull::series_schema}}
                  << '\n';
        return 0;
    }
    if (argc < 5) {
        std::cerr << "detect_features FILE RATE CHANNELS KINDS [bare] [pairs]\n";
        return 2;
    }
    std::ifstream file(argv[1], std::ios::binary);
    const std::vector<char> bytes((std::istreambuf_iterator<char>(file)), {});
    const auto count = static_cast<std::size_t>(std::atoi(argv[3]));
    const std::size_t frames = bytes.size() / sizeof(float) / count;
    const auto* values = reinterpret_cast<const float*>(bytes.data());
    lull::test::Samples samples;
    std::vector<lull::Channel> channels(count);
    for (std::size_t c = 0; c < count; ++c) {
        samples.emplace_back(values + c * frames, values + (c + 1) * frames);
        channels[c].kind = kind_of(argv[4][c]);
    }
    lull::test::Listening listening(samples, std::atof(argv[2]), channels);
    const std::vector<lull::Arrival> arrivals = listening.arrivals();
    for (const lull::Arrival& a : arrivals) {
        json row = common("arrival", a.onset_s, a.end_s, a.confidence);
        row["kind"] = lull::name_of(a.kind);
        row["sustained"] = a.shape.sustained;
        row["channel"] = a.channel;
        row["snr"] = a.snr_db;
        row["why"] = a.why;
        if (!a.shape.sustained) row["features"] = lull::impulse_features(a);
        std::cout << row << '\n';
    }
    std::vector<lull::Event> events = lull::join_events(arrivals, listening.session, channels);
    const std::vector<std::string> asked(argv + 5, argv + argc);
    const auto is_asked = [&](const char* word) { return std::ranges::count(asked, word) > 0; };
    if (is_asked("bare"))
        for (lull::Event& event : events)
            for (lull::Arrival& arrival : event.arrivals)
                arrival.shape.imprint = {};
    if (is_asked("pairs")) print_pairs(events);
    print_groups(events);
    for (const lull::Series& s : lull::find_series(events)) {
        json row = common("series", s.from_s, s.to_s, s.confidence);
        row["taps"] = s.taps;
        std::cout << row << '\n';
    }
    for (const lull::Event& e : events) {
        json row = common("event", e.onset_s, e.end_s, e.confidence);
        row["kind"] = lull::name_of(e.kind);
        row["why"] = e.why;
        std::cout << row << '\n';
    }
    return 0;
}
