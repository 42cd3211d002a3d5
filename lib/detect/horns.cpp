// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/horns.hpp"

#include <algorithm>
#include <fmt/format.h>

namespace lull {

namespace {

constexpr double run_down_s = 120.0;  ///< most that a site takes to fall quiet after the order
constexpr double late_order_s = 20.0; ///< an order that comes to a site that is already quiet
constexpr double start_up_s = 30.0;   ///< in which a site gets loud after the order to work
constexpr double beep_s = 0.45;       ///< a tone this short and alone may close a radio call
constexpr double most_beep = 0.45;    ///< its confidence

double length_s(const Event& event) {
    return event.end_s - event.onset_s;
}

bool fits(const HornPattern& pattern, const std::vector<double>& lengths_s) {
    return std::equal(lengths_s.begin(), lengths_s.end(), pattern.blasts.begin(),
                      pattern.blasts.end(), [](double length, const BlastLength& asked) {
                          return length >= asked.least_s && length <= asked.most_s;
                      });
}

void settle(HornSignal& signal, const HornRules& rules) {
    for (std::size_t p = 0; p < rules.patterns.size() && !signal.pattern; ++p)
        if (fits(rules.patterns[p], signal.lengths_s)) signal.pattern = p;
}

std::string words_of(const HornSignal& signal, const HornRules& rules) {
    std::string words = "signal of ";
    for (std::size_t i = 0; i < signal.lengths_s.size(); ++i)
        words += fmt::format("{}{:.1f} s", i == 0 ? "" : ", ", signal.lengths_s[i]);
    if (signal.pattern) words += ": " + rules.patterns[*signal.pattern].meaning;
    return words;
}

HornOrder order_of(const HornSignal& signal, const HornRules& rules) {
    return signal.pattern ? rules.patterns[*signal.pattern].order : HornOrder::other;
}

void bound(QuietPeriod& period, std::span<const HornSignal> signals, const HornRules& rules) {
    for (const HornSignal& signal : signals) {
        const HornOrder order = order_of(signal, rules);
        const bool before = signal.to_s >= period.from_s - run_down_s &&
                            signal.from_s <= period.from_s + late_order_s;
        if (order == HornOrder::quiet && before) {
            period.ordered_by = signal.events.front();
            period.from_s = std::max(period.from_s, signal.to_s);
        }
        const bool ends = order == HornOrder::work || order == HornOrder::out;
        if (ends && before && signal.to_s <= period.from_s) period.ordered_by.reset();
        if (ends && signal.from_s > period.from_s && signal.from_s <= period.to_s + start_up_s) {
            period.ended_by = signal.events.front();
            period.to_s = std::min(period.to_s, signal.from_s);
            return;
        }
    }
}

} // namespace

std::vector<HornSignal> horn_signals(const std::vector<Event>& events, const HornRules& rules,
                                     double sure) {
    std::vector<HornSignal> signals;
    for (const Event& event : events) {
        if (event.kind != EventKind::horn || event.confidence < sure) continue;
        const bool another =
            signals.empty() || event.onset_s > signals.back().to_s + rules.longest_gap_s;
        if (another) {
            signals.push_back({{}, {}, event.onset_s, event.end_s, 1.0, {}});
        } else if (event.onset_s < signals.back().to_s) {
            // What begins while another still sounds is the same blast on another channel.
            continue;
        }
        HornSignal& signal = signals.back();
        signal.events.push_back(event.number);
        signal.lengths_s.push_back(length_s(event));
        signal.to_s = event.end_s;
        signal.confidence = std::min(signal.confidence, event.confidence);
    }
    for (HornSignal& signal : signals)
        settle(signal, rules);
    return signals;
}

void judge_horn_signals(std::vector<Event>& events, const HornRules& rules, double sure) {
    for (const HornSignal& signal : horn_signals(events, rules, sure)) {
        std::string words = words_of(signal, rules);
        const bool beep =
            !signal.pattern && signal.lengths_s.size() == 1 && signal.lengths_s.front() < beep_s;
        if (beep) words += "; alone and as short as the beep that closes a radio call";
        for (const int number : signal.events) {
            Event& event = events[static_cast<std::size_t>(number) - 1];
            event.why += "; " + words;
            if (beep) event.confidence = std::min(event.confidence, most_beep);
        }
    }
}

void bound_by_signals(std::vector<QuietPeriod>& periods, std::span<const HornSignal> signals,
                      const HornRules& rules) {
    for (QuietPeriod& period : periods)
        bound(period, signals, rules);
    std::erase_if(periods, [](const QuietPeriod& period) {
        return period.to_s - period.from_s < quiet_least_s;
    });
}

} // namespace lull
