// SPDX-License-Identifier: GPL-3.0-or-later
//
// Automatic gain: a recorder lowers its own gain after a loud sound. The background then falls on
// the channel and returns within seconds. No sound does that.
#pragma once

#include "health/health.hpp"
#include "signal/tracks.hpp"

namespace lull {

/// Records in health.dips the background before and after each loud sound (13 dB over the
/// background before it) that ends in [begin, end).
void note_gain_dips(const LevelTrack& level, double rate_hz, Frame begin, Frame end,
                    ChannelHealth& health);

} // namespace lull
