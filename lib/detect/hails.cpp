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

std::vector<Hail> logged_hails(std::span<const LogRow> log, const std::vector<Event>& events,
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
    return hails;
}

bool is_own(const Event& event, const HailRules& rules) {
    if (event.confidence < rules.least_confidence) return false;
    if (event.kind != EventKind::tapping && event.kind != EventKind::voice_like) return false;
    double own_db = -1e9, other_db = -1e9;
    for (const Arrival& arrival : event.arrivals) {
        double& level = arrival.channel == *rules.channel ? own_db : other_db;
        level = std::max(level, arrival.snr_db.value_or(-1e9));
    }
    return own_db >= rules.own_snr_db && own_db >= other_db + rules.own_over_db;
}

void add_heard_hails(std::vector<Hail>& hails, const std::vector<Event>& events,
                     const HailRules& rules) {
    std::vector<Hail> heard;
    for (const Event& event : events) {
        if (!is_own(event, rules)) continue;
        if (heard.empty() || event.onset_s > heard.back().to_s + rules.own_pause_s) {
            heard.emplace_back();
            heard.back().from_s = event.onset_s;
            heard.back().channel = *rules.channel;
            heard.back().from_log = false;
        }
        heard.back().to_s = std::max(heard.back().to_s, event.end_s);
    }
    for (const Hail& hail : heard) {
        const bool logged = std::ranges::any_of(hails, [&](const Hail& known) {
            return hail.from_s <= known.to_s + rules.own_pause_s &&
                   known.from_s <= hail.to_s + rules.own_pause_s;
        });
        if (!logged) hails.push_back(hail);
    }
}

} // namespace

double answer_until(const std::vector<Hail>& hails, std::size_t hail, const HailRules& rules) {
    const double until_s = hails[hail].to_s + rules.answer_within_s;
    return hail + 1 < hails.size() ? std::min(until_s, hails[hail + 1].from_s) : until_s;
}

std::vector<Hail> find_hails(std::span<const LogRow> log, const std::vector<Event>& events,
                             const HailRules& rules) {
    std::vector<Hail> hails = logged_hails(log, events, rules);
    if (rules.channel) add_heard_hails(hails, events, rules);
    std::stable_sort(hails.begin(), hails.end(),
                     [](const Hail& a, const Hail& b) { return a.from_s < b.from_s; });
    for (std::size_t h = 0; h < hails.size(); ++h) {
        Hail& hail = hails[h];
        hail.number = static_cast<int>(h) + 1;
        const double until_s = answer_until(hails, h, rules);
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
