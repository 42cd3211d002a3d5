// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/horns.hpp"

#include <algorithm>
#include <fmt/format.h>

namespace lull {

namespace {

double length_s(const Event& event) {
    return event.end_s - event.onset_s;
}

bool fits(const HornPattern& pattern, const std::vector<Event*>& blasts) {
    return std::equal(blasts.begin(), blasts.end(), pattern.blasts.begin(), pattern.blasts.end(),
                      [](const Event* blast, const BlastLength& length) {
                          return length_s(*blast) >= length.least_s &&
                                 length_s(*blast) <= length.most_s;
                      });
}

void name_signal(const std::vector<Event*>& blasts, std::span<const HornPattern> patterns) {
    std::string words = "signal of ";
    for (const Event* blast : blasts)
        words += fmt::format("{}{:.1f} s", blast == blasts.front() ? "" : ", ", length_s(*blast));
    const auto pattern =
        std::ranges::find_if(patterns, [&](const HornPattern& one) { return fits(one, blasts); });
    if (pattern != patterns.end()) words += ": " + pattern->meaning;
    for (Event* blast : blasts)
        blast->why += "; " + words;
}

} // namespace

std::span<const HornPattern> usual_horn_patterns() {
    constexpr BlastLength any_long{2.0, 15.0}, any_short{0.3, 1.8};
    static const std::vector<HornPattern> usual{
        {"stop work and be quiet, where usual rules hold", {any_long}},
        {"everyone out, where usual rules hold", {any_short, any_short, any_short}},
        {"resume work, where usual rules hold", {any_long, any_short}},
    };
    return usual;
}

void name_horn_signals(std::vector<Event>& events, std::span<const HornPattern> patterns,
                       double sure) {
    std::vector<Event*> blasts;
    for (Event& event : events) {
        if (event.kind != EventKind::horn || event.confidence < sure) continue;
        // What begins while another still sounds is the same blast on another channel.
        if (!blasts.empty() && event.onset_s < blasts.back()->end_s) continue;
        if (!blasts.empty() && event.onset_s > blasts.back()->end_s + longest_blast_gap_s) {
            name_signal(blasts, patterns);
            blasts.clear();
        }
        blasts.push_back(&event);
    }
    if (!blasts.empty()) name_signal(blasts, patterns);
}

} // namespace lull
