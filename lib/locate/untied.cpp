// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/untied.hpp"

#include "compare/apply_clocks.hpp"
#include "compare/clocks.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>
#include <string>

namespace lull {
namespace {

/// The number of the recording among those side by side; 0: all recordings follow one another.
int recording_of(const Recording& recording, int channel) {
    return recording.channels[static_cast<std::size_t>(channel)].recording.value_or(0);
}

std::set<int> side_by_side(const Recording& recording) {
    std::set<int> numbers;
    for (std::size_t c = 0; c < recording.channels.size(); ++c)
        if (recording.channels[c].position_m)
            numbers.insert(recording_of(recording, static_cast<int>(c)));
    return numbers;
}

bool session_ties(const Recording& recording, const std::set<int>& numbers) {
    return std::ranges::all_of(clocks_of(recording.session), [&](const ClockRow& row) {
        return !numbers.contains(row.recording) || row.sigma_s;
    });
}

/// "1 and 2", "1, 2 and 4"
std::string list_of(const auto& words) {
    const auto last = std::prev(words.end());
    return words.size() < 2 ? fmt::format("{}", *last)
                            : fmt::format("{} and {}", fmt::join(words.begin(), last, ", "), *last);
}

} // namespace

std::vector<Notice> untied_clocks(const Recording& recording,
                                  std::span<const DelayEstimate> delays) {
    std::set<int> untied, timed, numbers;
    bool joined = false;
    for (const DelayEstimate& delay : delays) {
        for (const int c : {delay.channel_a, delay.channel_b}) {
            if (delay.usable) timed.insert(c);
            if (is_untied(delay)) untied.insert(c), numbers.insert(recording_of(recording, c));
        }
        joined = joined || recording_of(recording, delay.channel_a) !=
                               recording_of(recording, delay.channel_b);
    }
    const std::set<int> all = side_by_side(recording);
    if (untied.empty() && !joined && all.size() > 1 && !session_ties(recording, all))
        return {{"",
                 fmt::format("no delay joins recordings {}, whose clocks the session does not tie: "
                             "each event is placed by what one of them heard",
                             list_of(all)),
                 false}};
    if (untied.empty()) return {};
    std::vector<std::string> of_levels;
    for (const int c : untied)
        if (!timed.contains(c))
            of_levels.push_back(recording.channels[static_cast<std::size_t>(c)].name);
    const std::string clocks = numbers.size() > 1 ? "the clocks of recordings " + list_of(numbers)
                                                  : "clocks within one recording";
    return {{"",
             clocks + " are not tied: no delay between them is used" +
                 (of_levels.empty() ? "" : "; of " + list_of(of_levels) + " only levels are used"),
             false}};
}

} // namespace lull
