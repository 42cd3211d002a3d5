// SPDX-License-Identifier: GPL-3.0-or-later
//
// The imprint of an impulse: a short stretch of its waveform, by which impulses of one source are
// known from others that only share their bands.
#pragma once

#include "detect/event.hpp"

#include <cstddef>
#include <span>

namespace lull {

/// Takes the imprint from a band-passed waveform.
/// \param onset       index of the onset in it
/// \param floor_power mean square of the noise, > 0 or unknown (0)
[[nodiscard]] Imprint take_imprint(std::span<const float> waveform, std::size_t onset,
                                   double rate_hz, double floor_power);

/// How far two imprints move together, and how far two blows of one source would at this noise.
struct ImprintMatch {
    double correlation = 0.0; ///< -1..1: highest normalised correlation within +-2 ms
    double expected = 0.0;    ///< 0..1: geometric mean of the two signals' shares of their power
};

/// Zero for an empty imprint.
[[nodiscard]] ImprintMatch match(const Imprint& a, const Imprint& b);

/// Over the channels that both events have: means weighted by what is expected of each.
[[nodiscard]] ImprintMatch match(const Event& a, const Event& b);

} // namespace lull
