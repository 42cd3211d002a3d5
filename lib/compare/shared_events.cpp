// SPDX-License-Identifier: GPL-3.0-or-later
#include "compare/shared_events.hpp"

#include "detect/join.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace lull {
namespace {

constexpr std::size_t least_shared = 3;
constexpr double reach_s = 120.0; ///< offsets that are looked for
constexpr double window_s = 0.06; ///< in which differences count as one offset
constexpr double most_drift_ppm = 100.0;
constexpr double clear_share = 0.7; ///< another offset may have so much of the best one's pairs
constexpr double apart_s = 0.3;     ///< from the best: then it is another
constexpr double left_out_sigmas = 3.0;
constexpr double least_scatter_s = 1e-4; ///< of pairs: nothing closer is called an outlier
constexpr double told_drift_ppm = 50.0;  ///< a drift known no better is not given

/// One event in both recorders: reference clock less the other's, at the other's time.
struct Pair {
    double time_s, difference_s;
};

int recording_of(const Recording& recording, int channel) {
    return recording.channels[static_cast<std::size_t>(channel)].recording.value_or(0);
}

bool is_in(const EventSpan& event, const Recording& recording, int number) {
    return std::ranges::any_of(event.channels,
                               [&](int c) { return recording_of(recording, c) == number; });
}

/// From the delays of events that both are in: medians over their pairs of channels.
std::vector<Pair> pairs_of_delays(int reference, int other, std::span<const EventSpan> events,
                                  std::span<const DelayEstimate> delays,
                                  const Recording& recording) {
    std::map<int, std::vector<double>> by_event;
    for (const DelayEstimate& delay : delays) {
        if (!delay.usable) continue;
        const int a = recording_of(recording, delay.channel_a),
                  b = recording_of(recording, delay.channel_b);
        if (a == reference && b == other) by_event[delay.event].push_back(-delay.delay_s);
        if (a == other && b == reference) by_event[delay.event].push_back(delay.delay_s);
    }
    std::vector<Pair> pairs;
    for (const EventSpan& event : events) {
        const auto found = by_event.find(event.event);
        if (found == by_event.end()) continue;
        std::ranges::sort(found->second);
        pairs.push_back({event.onset_s, found->second[found->second.size() / 2]});
    }
    return pairs;
}

/// Start of the window that holds most of the sorted differences, and how many.
std::pair<std::size_t, std::size_t> fullest(const std::vector<double>& sorted, double keep_off_s) {
    std::size_t best = 0, most = 0, end = 0;
    for (std::size_t i = 0; i < sorted.size(); ++i) {
        end = std::max(end, i);
        while (end < sorted.size() && sorted[end] - sorted[i] <= window_s)
            ++end;
        if (end - i > most && !(std::abs(sorted[i] - keep_off_s) < apart_s))
            best = i, most = end - i;
    }
    return {best, most};
}

/// The times within reach of one.
std::span<const double> within_reach(const std::vector<double>& sorted, double time_s) {
    const auto from = std::ranges::lower_bound(sorted, time_s - reach_s),
               to = std::ranges::upper_bound(sorted, time_s + reach_s);
    return {from, to};
}

/// \param reference  sorted
std::vector<double> differences(const std::vector<double>& reference,
                                const std::vector<double>& other, double drift) {
    std::vector<double> result;
    for (const double t : other)
        for (const double r : within_reach(reference, t))
            result.push_back(r - t * (1.0 + drift));
    std::ranges::sort(result);
    return result;
}

/// From onsets of events that only one of them is in.
std::vector<Pair> pairs_of_onsets(int reference, int other, std::span<const EventSpan> events,
                                  const Recording& recording) {
    std::vector<double> first, second;
    for (const EventSpan& event : events) {
        const bool in_first = is_in(event, recording, reference),
                   in_second = is_in(event, recording, other);
        if (in_first && !in_second) first.push_back(event.onset_s);
        if (in_second && !in_first) second.push_back(event.onset_s);
    }
    if (first.size() < least_shared || second.size() < least_shared) return {};
    std::ranges::sort(first);
    std::ranges::sort(second);
    const double span_s =
        std::max(first.back(), second.back()) - std::min(first.front(), second.front());
    const double step_ppm = std::max(1.0, 1e6 * 0.5 * window_s / std::max(1.0, span_s));
    double offset_s = 0.0, drift = 0.0;
    std::size_t most = 0, rival = 0;
    for (double ppm = -most_drift_ppm; ppm <= most_drift_ppm + 0.5 * step_ppm; ppm += step_ppm) {
        const std::vector<double> sorted = differences(first, second, ppm * 1e-6);
        if (sorted.empty()) return {};
        const auto [at, count] = fullest(sorted, 1e300);
        if (count <= most) continue;
        most = count, offset_s = sorted[at], drift = ppm * 1e-6;
        rival = fullest(sorted, sorted[at]).second;
    }
    const double by_chance = static_cast<double>(first.size() * second.size()) * window_s /
                             std::min(2.0 * reach_s, std::max(1.0, 2.0 * span_s));
    if (most < least_shared ||
        static_cast<double>(rival) > clear_share * static_cast<double>(most) ||
        static_cast<double>(most) < by_chance + 5.0 * std::sqrt(by_chance) + 2.0)
        return {};
    std::vector<Pair> pairs;
    for (const double t : second)
        for (const double r : within_reach(first, t)) {
            const double rest = r - t * (1.0 + drift) - offset_s;
            if (rest >= 0.0 && rest <= window_s) pairs.push_back({t, r - t});
        }
    return pairs;
}

/// offset + drift * (time - middle)
struct Line {
    double middle_s = 0.0, offset_s = 0.0, drift = 0.0, scatter_s = 0.0, drift_sigma = 0.0;
    std::size_t pairs = 0;
};

Line line_through(const std::vector<Pair>& pairs, bool with_drift) {
    Line line;
    line.pairs = pairs.size();
    const auto n = static_cast<double>(pairs.size());
    for (const Pair& pair : pairs) {
        line.middle_s += pair.time_s / n;
        line.offset_s += pair.difference_s / n;
    }
    double tt = 0.0, td = 0.0;
    for (const Pair& pair : pairs) {
        const double t = pair.time_s - line.middle_s;
        tt += t * t;
        td += t * (pair.difference_s - line.offset_s);
    }
    if (with_drift && tt > 0.0) line.drift = td / tt;
    double squares = 0.0;
    for (const Pair& pair : pairs) {
        const double rest =
            pair.difference_s - line.offset_s - line.drift * (pair.time_s - line.middle_s);
        squares += rest * rest;
    }
    line.scatter_s = std::sqrt(squares / std::max(1.0, n - (with_drift ? 2.0 : 1.0)));
    if (with_drift) line.drift_sigma = tt > 0.0 ? line.scatter_s / std::sqrt(tt) : 1.0;
    return line;
}

/// Those that lie off the line by far are left out, the worst first.
Line robust_line(std::vector<Pair> pairs) {
    const bool with_drift = pairs.size() > least_shared;
    for (;;) {
        const Line line = line_through(pairs, with_drift);
        std::vector<double> rest;
        for (const Pair& pair : pairs)
            rest.push_back(std::abs(pair.difference_s - line.offset_s -
                                    line.drift * (pair.time_s - line.middle_s)));
        std::vector<double> sorted = rest;
        std::ranges::sort(sorted);
        // 1.4826: the median of the sizes of normal deviates is 1/1.4826 of their sigma.
        const double sigma = std::max(least_scatter_s, 1.4826 * sorted[sorted.size() / 2]);
        const auto worst = std::ranges::max_element(rest) - rest.begin();
        if (pairs.size() <= least_shared ||
            rest[static_cast<std::size_t>(worst)] <= left_out_sigmas * sigma)
            return with_drift && line.drift_sigma > told_drift_ppm * 1e-6
                       ? line_through(pairs, false)
                       : line;
        pairs.erase(pairs.begin() + worst);
    }
}

/// The longest that a wave may take from a sensor of one to a sensor of the other.
double longest_between(int reference, int other, const Recording& recording) {
    double longest_s = 0.0;
    for (const Channel& a : recording.channels)
        for (const Channel& b : recording.channels)
            if (a.recording.value_or(0) == reference && b.recording.value_or(0) == other)
                longest_s =
                    std::max(longest_s, largest_delay_s(a, b, recording.session.propagation, 0.0));
    return longest_s;
}

} // namespace

std::vector<EventSpan> tying_events(std::span<const EventSpan> events) {
    constexpr std::size_t most = 5000, run = 250;
    if (events.size() <= most) return {events.begin(), events.end()};
    std::vector<EventSpan> tying;
    for (std::size_t k = 0; k < most / run; ++k) {
        const std::size_t first = (events.size() - run) * k / (most / run - 1);
        const auto part = events.subspan(first, run);
        tying.insert(tying.end(), part.begin(), part.end());
    }
    return tying;
}

bool need_tie(std::span<const ClockRow> clocks) {
    return clocks.size() >= 2 &&
           std::ranges::any_of(clocks, [](const ClockRow& row) { return !row.offset_s; });
}

void tie_by_shared_events(std::vector<ClockRow>& clocks, std::span<const EventSpan> events,
                          std::span<const DelayEstimate> delays, const Recording& recording) {
    if (clocks.size() < 2) return;
    auto reference = std::ranges::find_if(clocks, [](const ClockRow& row) {
        return row.offset_s.has_value() && row.sigma_s.has_value();
    });
    const bool known = reference != clocks.end();
    if (!known) reference = clocks.begin();
    if (!known && reference->offset_s) return; // stated without a spread: nothing to hang on to
    bool tied = false;
    for (ClockRow& row : clocks) {
        if (&row == &*reference || row.offset_s) continue;
        std::vector<Pair> pairs =
            pairs_of_delays(reference->recording, row.recording, events, delays, recording);
        if (pairs.size() < least_shared)
            pairs = pairs_of_onsets(reference->recording, row.recording, events, recording);
        if (pairs.size() < least_shared) continue;
        const Line line = robust_line(pairs);
        const double base = reference->offset_s.value_or(0.0),
                     base_drift = reference->drift_ppm.value_or(0.0) * 1e-6;
        row.offset_s = base + line.offset_s - line.drift * line.middle_s;
        row.drift_ppm = 1e6 * (line.drift + base_drift);
        const double unknown_s =
            longest_between(reference->recording, row.recording, recording) / std::sqrt(3.0);
        row.sigma_s = std::hypot(line.scatter_s, unknown_s, reference->sigma_s.value_or(0.0));
        row.from = fmt::format("{} shared events", line.pairs);
        tied = true;
    }
    if (!known && tied) {
        reference->offset_s = 0.0, reference->drift_ppm = 0.0, reference->sigma_s = 0.0;
        reference->from = "reference";
    }
}

} // namespace lull
