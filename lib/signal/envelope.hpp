// SPDX-License-Identifier: GPL-3.0-or-later
//
// How loud a stretch is from instant to instant.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// Magnitude of the analytic signal of the whole stretch, by transform: a steady sine of amplitude
/// a gives a. The stretch is taken as periodic, so the ends of one that is not are bent.
[[nodiscard]] std::vector<float> analytic_envelope(std::span<const float> samples);

/// Root mean square over `window` samples centred on each sample; fewer at the ends, where the
/// window is cut. \param window  >= 1; an even one is widened by 1
[[nodiscard]] std::vector<float> short_time_rms(std::span<const float> samples, std::size_t window);

} // namespace lull
