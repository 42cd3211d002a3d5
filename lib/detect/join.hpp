// SPDX-License-Identifier: GPL-3.0-or-later
//
// Joining the arrivals of all channels into events.
#pragma once

#include "detect/event.hpp"
#include "recording/channel.hpp"
#include "recording/session.hpp"

#include <span>
#include <vector>

namespace lull {

/// Window for two arrivals of one event where no positions are known [s]: 30 m at the lowest speed
/// assumed for a structure, 300 m/s.
inline constexpr double join_window_s = 0.1;
/// Added for lasting sounds: where the noise differs, a sound that swells is over it at other
/// times.
inline constexpr double join_swell_s = 0.35;

/// Largest arrival-time difference that one source can give two channels: distance over the lowest
/// speed of their kinds, with the sigmas of the positions; where kinds differ, also what the two
/// speeds can put between them over the extent of the site. Without positions: join_window_s.
/// Channels as they hold at the time in question.
[[nodiscard]] double largest_delay_s(const Channel& a, const Channel& b,
                                     const Propagation& propagation, double site_extent_m);

/// Joins arrivals into events, numbered from 1 in order of onset. An arrival belongs to exactly
/// one event, and an event has at most one arrival a channel. Impulses join impulses, and lasting
/// sounds lasting sounds; of several events that an arrival could join, the one whose delays and
/// bands are nearest takes it.
///
/// \param arrivals sorted by (onset, channel), over the whole recording
/// \param session  propagation, and changes of position
/// \param channels those of the arrivals, by index
[[nodiscard]] std::vector<Event> join_events(std::vector<Arrival> arrivals, const Session& session,
                                             std::span<const Channel> channels);

} // namespace lull
