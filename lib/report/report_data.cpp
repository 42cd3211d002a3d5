// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/report_data.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>

namespace lull {
namespace {

double snr_of(const Event& event) {
    double best = -1e9;
    for (const Arrival& arrival : event.arrivals)
        best = std::max(best, arrival.snr_db.value_or(-1e9));
    return best;
}

/// What may be a sign of life comes before what is clearly something else, and both before doubt.
int order_of(const Event& event) {
    if (event.confidence < headline_confidence) return 2;
    const bool sign_of_life =
        event.kind == EventKind::tapping || event.kind == EventKind::voice_like;
    return sign_of_life ? 0 : 1;
}

} // namespace

std::vector<std::size_t> most_deserving_first(const std::vector<Event>& events) {
    std::vector<std::size_t> order(events.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto key = [&](std::size_t i) {
        const Event& event = events[i];
        return std::tuple(order_of(event), -std::floor(event.confidence * 10.0 + 1e-9),
                          -snr_of(event), event.onset_s, event.number);
    };
    std::ranges::sort(order, {}, key);
    return order;
}

std::size_t events_shown(const std::vector<Event>& events) {
    constexpr std::size_t least = 60, most = 600;
    const auto headline = static_cast<std::size_t>(std::ranges::count_if(
        events, [](const Event& event) { return event.confidence >= headline_confidence; }));
    return std::min(events.size(), std::clamp(headline, least, most));
}

EventCounts count_events(const std::vector<Event>& events, std::optional<std::int64_t> not_listed) {
    const auto headline = std::ranges::count_if(
        events, [](const Event& event) { return event.confidence >= headline_confidence; });
    return {headline, static_cast<std::int64_t>(events.size()) - headline, not_listed};
}

} // namespace lull
