// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/hails.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace lull {

namespace {

constexpr double longest_pause_s = 1.6; ///< between knocks of one group

/// A call or a group of knocks, as indices into the events.
struct Call {
    std::vector<std::size_t> events; ///< in order of onset
    double from_s = 0.0, to_s = 0.0;
    int channel = 0; ///< that heard best the event it was found by
};

/// A call goes on while its own source does: what is of its series, pause by pause, before and
/// after it.
Call call_round(std::size_t event, const std::vector<Event>& events) {
    Call call{{event}, events[event].onset_s, events[event].end_s, events[event].strongest};
    const std::optional<int> series = events[event].series;
    if (!series) return call;
    for (std::size_t e = event; e-- > 0 && events[e].onset_s >= call.from_s - longest_pause_s;)
        if (events[e].series == series) {
            call.events.insert(call.events.begin(), e);
            call.from_s = events[e].onset_s;
        }
    for (std::size_t e = event + 1;
         e < events.size() && events[e].onset_s <= call.to_s + longest_pause_s; ++e)
        if (events[e].series == series) {
            call.events.push_back(e);
            call.to_s = std::max(call.to_s, events[e].end_s);
        }
    return call;
}

/// The strongest power of an event on the channels that a row names; 0: on none of them.
double power_for(const LogRow& row, const Event& event) {
    double strongest = 0.0;
    for (const Arrival& arrival : event.arrivals)
        if (row.channels.empty() ||
            std::ranges::find(row.channels, arrival.channel) != row.channels.end())
            strongest = std::max(strongest, arrival.peak_energy);
    return strongest;
}

/// The call that a row tells of; none that was heard.
std::optional<Call> call_of(const LogRow& row, const std::vector<Event>& events,
                            const HailRules& rules) {
    std::optional<Call> best;
    double strongest = 0.0;
    auto event =
        std::ranges::lower_bound(events, row.time_s - rules.written_within_s, {}, &Event::onset_s);
    for (; event != events.end() && event->onset_s <= row.time_s + rules.written_within_s;
         ++event) {
        const double power = power_for(row, *event);
        if (event->kind == EventKind::horn || power <= strongest) continue;
        Call call = call_round(static_cast<std::size_t>(event - events.begin()), events);
        if (call.to_s - call.from_s > rules.longest_s) continue;
        strongest = power;
        best = std::move(call);
    }
    return best;
}

std::vector<Hail> logged_hails(std::span<const LogRow> log, const std::vector<Event>& events,
                               const HailRules& rules) {
    std::vector<Hail> hails;
    for (const LogRow& row : log) {
        if (row.action != "call-out") continue;
        Hail hail;
        hail.channel = row.channels.empty() ? 0 : row.channels.front();
        hail.from_s = hail.to_s = row.time_s;
        if (const auto call = call_of(row, events, rules)) {
            hail.from_s = call->from_s;
            hail.to_s = call->to_s;
            hail.channel = call->channel;
            for (const std::size_t event : call->events)
                hail.events.push_back(events[event].number);
        }
        hails.push_back(hail);
    }
    return hails;
}

bool is_own(const Event& event, const HailRules& rules) {
    if (event.confidence < rules.least_confidence) return false;
    if (event.kind != EventKind::tapping && event.kind != EventKind::voice_like) return false;
    double own_db = no_snr_db, other_db = no_snr_db;
    for (const Arrival& arrival : event.arrivals) {
        double& level = arrival.channel == *rules.channel ? own_db : other_db;
        level = std::max(level, arrival.snr_db);
    }
    // Two infinite ones, over digitally silent floors, are as strong as each other: the difference
    // of two infinities is not a number and compares as false.
    return own_db >= rules.own_snr_db && own_db - other_db >= rules.own_over_db;
}

/// Two accounts of one hail.
void join(Hail& known, const Hail& other) {
    known.from_s = std::min(known.from_s, other.from_s);
    known.to_s = std::max(known.to_s, other.to_s);
    std::vector<int> both;
    std::ranges::set_union(known.events, other.events, std::back_inserter(both));
    known.events = std::move(both);
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
        heard.back().events.push_back(event.number);
    }
    const std::size_t logged = hails.size();
    for (const Hail& hail : heard) {
        const auto end = hails.begin() + static_cast<std::ptrdiff_t>(logged);
        const auto known = std::find_if(hails.begin(), end, [&](const Hail& one) {
            return hail.from_s <= one.to_s + rules.own_pause_s &&
                   one.from_s <= hail.to_s + rules.own_pause_s;
        });
        if (known == end)
            hails.push_back(hail);
        else
            join(*known, hail);
    }
}

bool is_part(const Event& event, const std::vector<Hail>& hails) {
    return std::ranges::any_of(hails, [&](const Hail& hail) {
        return std::ranges::binary_search(hail.events, event.number);
    });
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
            if (event.confidence < rules.least_confidence || is_part(event, hails)) continue;
            if (!hail.after_s) hail.after_s = event.onset_s - hail.to_s;
            hail.followed_by.push_back(event.number);
        }
    }
    return hails;
}

void mark_hails(std::vector<Event>& events, std::span<const Hail> hails) {
    for (const Hail& hail : hails)
        for (const int number : hail.events)
            std::ranges::lower_bound(events, number, {}, &Event::number)->hail = hail.number;
}

} // namespace lull
