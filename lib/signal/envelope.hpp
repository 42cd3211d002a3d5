// SPDX-License-Identifier: GPL-3.0-or-later
//
// Envelopes: level from moment to moment.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// Magnitude of the analytic signal of the whole stretch, by transform: a steady sine of amplitude
/// a gives a. The stretch counts as periodic, so the ends are distorted if it is not.
[[nodiscard]] std::vector<float> analytic_envelope(std::span<const float> samples);

/// Root mean square over `window` samples centred on each sample; at the ends the window is
/// shorter.
/// \param window  >= 1; an even one is widened by 1
[[nodiscard]] std::vector<float> short_time_rms(std::span<const float> samples, std::size_t window);

} // namespace lull
