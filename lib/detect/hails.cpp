// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/hails.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

/// The event nearest a row in strength that can be the call itself.
const Event* call_of(const LogRow& row, const std::vector<Event>& events, const HailRules& rules) {
    const Event* best = nullptr;
    double strongest = 0.0;
    for (const Event& event : events) {
        if (std::abs(event.onset_s - row.time_s) > rules.written_within_s) continue;
        for (const Arrival& arrival : event.arrivals) {
            const bool asked =
                row.channels.empty() || std::find(row.channels.begin(), row.channels.end(),
                                                  arrival.channel) != row.channels.end();
            if (!asked || arrival.peak_energy <= strongest) continue;
            strongest = arrival.peak_energy;
            best = &event;
        }
    }
    return best;
}

/// A call or a group of knocks goes on while its own source does.
double end_of(const Event& call, const std::vector<Event>& events) {
    double end_s = call.end_s;
    if (!call.series) return end_s;
    for (const Event& event : events)
        if (event.series == call.series && event.onset_s >= call.onset_s &&
            event.onset_s <= end_s + 1.6)
            end_s = std::max(end_s, event.end_s);
    return end_s;
}

} // namespace

std::vector<Hail> find_hails(std::span<const LogRow> log, const std::vector<Event>& events,
                             const HailRules& rules) {
    std::vector<Hail> hails;
    for (const LogRow& row : log) {
        if (row.action != "call-out") continue;
        Hail hail;
        hail.channel = row.channels.empty() ? 0 : row.channels.front();
        hail.from_s = hail.to_s = row.time_s;
        if (const Event* call = call_of(row, events, rules)) {
            hail.from_s = call->onset_s;
            hail.to_s = end_of(*call, events);
            hail.channel = call->strongest;
        }
        hails.push_back(hail);
    }
    std::sort(hails.begin(), hails.end(),
              [](const Hail& a, const Hail& b) { return a.from_s < b.from_s; });
    for (std::size_t h = 0; h < hails.size(); ++h) {
        Hail& hail = hails[h];
        hail.number = static_cast<int>(h) + 1;
        double until_s = hail.to_s + rules.answer_within_s;
        if (h + 1 < hails.size()) until_s = std::min(until_s, hails[h + 1].from_s);
        for (const Event& event : events) {
            if (event.onset_s <= hail.to_s || event.onset_s >= until_s) continue;
            if (event.confidence < rules.least_confidence) continue;
            if (!hail.after_s) hail.after_s = event.onset_s - hail.to_s;
            hail.followed_by.push_back(event.number);
        }
    }
    return hails;
}

} // namespace lull
