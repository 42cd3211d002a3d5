// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/report_data.hpp"

#include "detect/strength.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>

namespace lull {
namespace {

bool is_headline(const Event& event) {
    return event.confidence >= headline_confidence && !event.hail;
}

/// What may be a sign of life comes before what is clearly something else and what is only loud,
/// both before the team's own hails, which nobody looks for, and all before doubt.
int order_of(const Event& event) {
    if (event.hail) return 2;
    if (!is_headline(event)) return is_strong_blow(event) ? 1 : 3;
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
    const auto before_doubt = static_cast<std::size_t>(
        std::ranges::count_if(events, [](const Event& event) { return order_of(event) < 3; }));
    return std::min(events.size(), std::clamp(before_doubt, least, most));
}

EventCounts count_events(const std::vector<Event>& events, std::optional<std::int64_t> not_listed) {
    const auto headline = std::ranges::count_if(events, is_headline);
    const auto of_hails =
        std::ranges::count_if(events, [](const Event& event) { return event.hail.has_value(); });
    return {headline, static_cast<std::int64_t>(events.size()) - headline - of_hails, of_hails,
            not_listed};
}

} // namespace lull
