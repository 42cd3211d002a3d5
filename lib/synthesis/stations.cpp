// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/stations.hpp"

#include "synthesis/internal/textures.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

/// Peak level of a sensor in hand, far above what it records otherwise [practice].
constexpr double handling_peak_db = -14.0;

std::vector<float> in_hand(const Random& random, double rate_hz) {
    auto samples = movement(handling_s, random, rate_hz);
    samples.resize(static_cast<std::size_t>(handling_s * rate_hz), 0.0F);
    float top = 0.0F;
    for (const float value : samples)
        top = std::max(top, std::abs(value));
    const auto scale =
        static_cast<float>(db_to_amplitude(handling_peak_db)) / std::max(top, 1e-12F);
    for (float& value : samples)
        value *= scale;
    return samples;
}

PlanChannel changed(PlanChannel channel, const PlanChange& change) {
    channel.position_m = change.position_m.value_or(channel.position_m);
    channel.contact = change.contact.value_or(channel.contact);
    channel.gain_db = change.gain_db.value_or(channel.gain_db);
    return channel;
}

Frame frame_of(double time_s, double rate_hz) {
    return static_cast<Frame>(std::llround(time_s * rate_hz));
}

} // namespace

Stations::Stations(const Plan& plan, const Random& random) : plan_(plan) {
    for (std::size_t c = 0; c < plan.channels.size(); ++c) {
        stations_.push_back({c, 0.0, {}});
        visited_.push_back({c});
    }
    for (std::size_t i = 0; i < plan.changes.size(); ++i) { // in order of time
        const PlanChange& change = plan.changes[i];
        const auto named = std::find_if(plan.channels.begin(), plan.channels.end(),
                                        [&](const auto& c) { return c.name == change.channel; });
        const auto channel = static_cast<std::size_t>(named - plan.channels.begin());
        const bool touched = change.position_m || change.contact;
        plan_.channels.push_back(changed(plan_.channels[visited_[channel].back()], change));
        visited_[channel].push_back(stations_.size());
        stations_.push_back(
            {channel, change.from_s,
             touched ? in_hand(random.child(i), plan.rate_hz) : std::vector<float>()});
    }
}

std::size_t Stations::at(std::size_t channel, double time_s) const {
    std::size_t station = channel;
    for (const std::size_t next : visited_[channel])
        if (stations_[next].from_s <= time_s) station = next;
    return station;
}

void Stations::split(std::size_t channel, Frame first, std::size_t frames,
                     const std::function<void(std::size_t, std::size_t, std::size_t)>& each) const {
    const auto& visited = visited_[channel];
    const auto offset_of = [&](std::size_t station) {
        return std::clamp<Frame>(frame_of(stations_[station].from_s, plan_.rate_hz) - first, 0,
                                 static_cast<Frame>(frames));
    };
    for (std::size_t i = 0; i < visited.size(); ++i) {
        const auto from = i == 0 ? 0 : static_cast<std::size_t>(offset_of(visited[i]));
        const auto to =
            i + 1 == visited.size() ? frames : static_cast<std::size_t>(offset_of(visited[i + 1]));
        if (from < to) each(visited[i], from, to - from);
    }
}

void Stations::handle(std::size_t channel, Frame first, std::span<float> out) const {
    for (const std::size_t station : visited_[channel]) {
        const auto& handling = stations_[station].handling;
        const Frame end = frame_of(stations_[station].from_s, plan_.rate_hz);
        const Frame begin = end - static_cast<Frame>(handling.size());
        const Frame low = std::max(first, begin);
        const Frame high = std::min(first + static_cast<Frame>(out.size()), end);
        for (Frame n = low; n < high; ++n)
            out[static_cast<std::size_t>(n - first)] =
                handling[static_cast<std::size_t>(n - begin)];
    }
}

} // namespace lull
