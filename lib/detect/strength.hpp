// SPDX-License-Identifier: GPL-3.0-or-later
//
// How strongly an event was heard, whatever it is thought to be.
#pragma once

#include "detect/event.hpp"

namespace lull {

/// SNR on its best channel, to 0.01 dB as tables show it; infinite over a silent floor.
[[nodiscard]] double strength_db(const Event& event);

/// One strong blow: an impulse of 20 dB and more on its best channel, heard on three channels and
/// more. It can be all that is to be heard of somebody, so a reviewer must see it whatever its
/// confidence, which for an impulse alone is under 0.5.
[[nodiscard]] bool is_strong_blow(const Event& event);

} // namespace lull
