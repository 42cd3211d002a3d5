// SPDX-License-Identifier: GPL-3.0-or-later
//
// How alike two sounds are: in their bands, and in how strong they are on each channel.
#pragma once

#include "detect/event.hpp"

#include <span>

namespace lull {

/// Cosine of the angle between two excesses over the floor [dB], 0..1; 0 when either is all zero
/// or the bands differ.
[[nodiscard]] double band_likeness(std::span<const float> a, std::span<const float> b);

/// 0..1: bands on the channels that both events have, how far their levels there move together,
/// and whether they are on the same channels at all.
[[nodiscard]] double event_likeness(const Event& a, const Event& b);

} // namespace lull
