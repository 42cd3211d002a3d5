// SPDX-License-Identifier: GPL-3.0-or-later
//
// A recorder that turns its own gain down after a loud sound: what the channel hears of its
// background falls then, and comes back in some seconds. No sound does that.
#pragma once

#include "health/health.hpp"
#include "signal/tracks.hpp"

namespace lull {

/// Notes in health.dips the background before and after each loud sound (13 dB over what was before
/// it) that ends in [begin, end).
void note_gain_dips(const LevelTrack& level, double rate_hz, Frame begin, Frame end,
                    ChannelHealth& health);

} // namespace lull
