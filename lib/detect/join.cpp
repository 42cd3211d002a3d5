// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/join.hpp"

#include "detect/internal/likeness.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <limits>

namespace lull {

namespace {

constexpr double timing_s = 0.004;      ///< of any onset, beyond its own sigma
constexpr double most_sigma_s = 0.03;   ///< an onset worse than this does not widen the bound more
constexpr double same_arrival_s = 0.02; ///< on one channel: the same impulse seen from two units
constexpr double most_alone = 0.45;     ///< of tapping that no series supports
constexpr double one_channel_snr_db = 25.0; ///< this strong, and on no other channel: a local hit

double lowest_speed_m_s(const Channel& channel, const Propagation& propagation) {
    const double air = 331.3 * std::sqrt(1.0 + propagation.air_temperature_c / 273.15);
    if (channel.kind == ChannelKind::air) return air;
    return channel.kind == ChannelKind::seismic ? propagation.seismic_m_s.first
                                                : std::min(air, propagation.seismic_m_s.first);
}

double distance_m(const Position& a, const Position& b) {
    return std::hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
}

/// The bounds between all channels, for each stretch between changes of the session.
class Bounds {
  public:
    Bounds(const Session& session, std::span<const Channel> channels) : count_(channels.size()) {
        from_s_.push_back(-std::numeric_limits<double>::max());
        for (const Change& change : session.changes)
            if (change.from_s > from_s_.back()) from_s_.push_back(change.from_s);
        for (std::size_t k = 0; k < from_s_.size(); ++k) {
            std::vector<Channel> held;
            for (const Channel& channel : channels)
                held.push_back(k == 0 ? channel : channel_at(session, channel, from_s_[k]));
            add(held, session.propagation);
        }
    }

    [[nodiscard]] double between(int a, int b, double time_s) const {
        const auto after = std::upper_bound(from_s_.begin(), from_s_.end(), time_s);
        const auto k = static_cast<std::size_t>(after - from_s_.begin()) - 1;
        return bound_s_[(k * count_ + static_cast<std::size_t>(a)) * count_ +
                        static_cast<std::size_t>(b)];
    }

    [[nodiscard]] double largest() const {
        double most = 0.0;
        for (const double bound : bound_s_)
            most = std::max(most, bound);
        return most;
    }

  private:
    void add(const std::vector<Channel>& channels, const Propagation& propagation) {
        double extent_m = 10.0; // a source may stand outside the sensors
        for (const Channel& a : channels)
            for (const Channel& b : channels)
                if (a.position_m && b.position_m)
                    extent_m = std::max(extent_m, distance_m(*a.position_m, *b.position_m));
        for (const Channel& a : channels)
            for (const Channel& b : channels)
                bound_s_.push_back(largest_delay_s(a, b, propagation, extent_m));
    }

    std::size_t count_;
    std::vector<double> from_s_;
    std::vector<double> bound_s_;
};

/// Arrivals of one event so far.
struct Group {
    std::vector<Arrival> arrivals;
    double first_s = 0.0, end_s = 0.0;
};

double sigma_of(const Arrival& a, const Arrival& b) {
    return std::min(most_sigma_s, 3.0 * std::hypot(a.onset_sigma_s, b.onset_sigma_s)) + timing_s;
}

/// How badly an arrival fits a group, 0 the best; none when it cannot belong to it.
std::optional<double> misfit(const Group& group, const Arrival& arrival, const Bounds& bounds) {
    double sum = 0.0;
    for (const Arrival& member : group.arrivals) {
        if (member.channel == arrival.channel) return std::nullopt;
        if (member.shape.sustained != arrival.shape.sustained) return std::nullopt;
        double bound = bounds.between(member.channel, arrival.channel, arrival.onset_s) +
                       sigma_of(member, arrival);
        if (arrival.shape.sustained) bound += join_swell_s;
        const double delay = std::abs(arrival.onset_s - member.onset_s);
        if (delay > bound) return std::nullopt;
        sum += delay / bound +
               0.5 * (1.0 - band_likeness(member.shape.band_db, arrival.shape.band_db));
    }
    return sum / static_cast<double>(group.arrivals.size());
}

/// Of the kinds its channels name, the likeliest. Channels hear the same sound, so that more of
/// them are not more witnesses: the surest speaks for all.
void decide_kind(Event& event) {
    std::array<double, 4> surest{};
    for (const Arrival& arrival : event.arrivals) {
        double& own = surest[static_cast<std::size_t>(arrival.kind)];
        own = std::max(own, arrival.confidence);
    }
    double best = -1.0;
    for (const EventKind kind :
         {EventKind::voice_like, EventKind::horn, EventKind::tapping, EventKind::other}) {
        const double one = surest[static_cast<std::size_t>(kind)];
        // What has a name is preferred to `other` unless it is quite unlikely.
        const double weight = kind == EventKind::other ? 0.5 * one : one;
        if (weight <= best) continue;
        best = weight;
        event.kind = kind;
        event.confidence = one;
    }
    if (event.kind == EventKind::tapping) event.confidence = std::min(event.confidence, most_alone);
}

Event make_event(Group&& group, std::size_t channels) {
    Event event;
    event.arrivals = std::move(group.arrivals);
    std::sort(event.arrivals.begin(), event.arrivals.end(),
              [](const Arrival& a, const Arrival& b) { return a.channel < b.channel; });
    event.onset_s = group.first_s;
    event.end_s = group.end_s;
    const Arrival& strongest = strongest_of(event.arrivals);
    event.strongest = strongest.channel;
    decide_kind(event);
    event.why = strongest.why;
    if (event.arrivals.size() > 1) {
        event.why += fmt::format("; on {} channels within {:.0f} ms", event.arrivals.size(), [&] {
            double last = event.onset_s;
            for (const Arrival& arrival : event.arrivals)
                last = std::max(last, arrival.onset_s);
            return 1e3 * (last - event.onset_s);
        }());
    } else if (event.kind == EventKind::tapping && channels >= 3 &&
               strongest.snr_db >= one_channel_snr_db) {
        event.confidence *= 0.5;
        event.why += fmt::format("; on one channel of {} although strong: perhaps a hit on the "
                                 "sensor or its cable",
                                 channels);
    }
    for (Arrival& arrival : event.arrivals)
        arrival.why = {}; // a night has tens of thousands
    return event;
}

} // namespace

double largest_delay_s(const Channel& a, const Channel& b, const Propagation& propagation,
                       double site_extent_m) {
    if (!a.position_m || !b.position_m) return join_window_s;
    const double speed_a = lowest_speed_m_s(a, propagation);
    const double speed_b = lowest_speed_m_s(b, propagation);
    const double apart_m = distance_m(*a.position_m, *b.position_m) +
                           2.0 * std::hypot(a.position_sigma_m, b.position_sigma_m);
    double delay_s = apart_m / std::min(speed_a, speed_b);
    if (a.kind != b.kind) {
        // One wave may be the slowest there is and the other the fastest, all over the site.
        const double fastest = std::max(propagation.seismic_m_s.second, std::max(speed_a, speed_b));
        delay_s += site_extent_m * (1.0 / std::min(speed_a, speed_b) - 1.0 / fastest);
    }
    return delay_s;
}

std::vector<Event> join_events(std::vector<Arrival> arrivals, const Session& session,
                               std::span<const Channel> channels) {
    const Bounds bounds(session, channels);
    const double open_s = bounds.largest() + most_sigma_s + timing_s + join_swell_s;
    std::vector<Group> groups;
    std::size_t oldest_open = 0;
    std::vector<double> last_impulse_s(channels.size(), -1e9);
    for (Arrival& arrival : arrivals) {
        double& last = last_impulse_s[static_cast<std::size_t>(arrival.channel)];
        if (!arrival.shape.sustained) {
            if (arrival.onset_s - last < same_arrival_s) continue;
            last = arrival.onset_s;
        }
        while (oldest_open < groups.size() &&
               groups[oldest_open].first_s < arrival.onset_s - open_s)
            ++oldest_open;
        std::optional<std::size_t> best;
        double least = std::numeric_limits<double>::max();
        for (std::size_t g = oldest_open; g < groups.size(); ++g) {
            const std::optional<double> off = misfit(groups[g], arrival, bounds);
            if (off && *off < least) {
                least = *off;
                best = g;
            }
        }
        if (!best) {
            best = groups.size();
            groups.push_back({{}, arrival.onset_s, arrival.end_s});
        }
        groups[*best].end_s = std::max(groups[*best].end_s, arrival.end_s);
        groups[*best].arrivals.push_back(std::move(arrival));
    }
    std::vector<Event> events;
    events.reserve(groups.size());
    for (Group& group : groups) {
        events.push_back(make_event(std::move(group), channels.size()));
        events.back().number = static_cast<int>(events.size());
    }
    return events;
}

} // namespace lull
