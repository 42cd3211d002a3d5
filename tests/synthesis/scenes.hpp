// SPDX-License-Identifier: GPL-3.0-or-later
//
// Plans for tests of exercises.
#pragma once

#include "synthesis/plan.hpp"

namespace lull {

/// Three seismic sensors on a line and a microphone, nearly white ambient noise, nothing else.
inline Plan bare_plan(double duration_s = 20.0, double rate_hz = 8000.0) {
    Plan plan;
    plan.rate_hz = rate_hz;
    plan.duration_s = duration_s;
    plan.structure.speed_m_s = 800.0;
    plan.structure.quality = 0.0;
    plan.structure.tail_decay_s = 0.0;
    plan.air.tail_decay_s = 0.0;
    const char* names[] = {"stairwell", "north-slab", "lift-shaft"};
    for (int i = 0; i < 3; ++i) {
        PlanChannel channel;
        channel.name = names[i];
        channel.position_m = {5.0 * static_cast<double>(1 << i), 0.0,
                              0.0}; // 5, 10, 20 m from the origin
        plan.channels.push_back(channel);
    }
    PlanChannel microphone;
    microphone.name = "void-mic";
    microphone.kind = ChannelKind::air;
    microphone.position_m = {0.0, 8.0, 0.0};
    plan.channels.push_back(microphone);
    SiteLayer ambient;
    ambient.level_db = -60.0;
    plan.site.push_back(ambient);
    return plan;
}

inline PlanEvent event_at(Sound sound, double time_s, double snr_db) {
    PlanEvent event;
    event.kinds = {sound};
    event.time_s = time_s;
    event.snr_db = snr_db;
    return event;
}

} // namespace lull
