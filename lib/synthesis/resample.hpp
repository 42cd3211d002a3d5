// SPDX-License-Identifier: GPL-3.0-or-later
//
// Band-limited interpolation.
#pragma once

#include <span>
#include <vector>

namespace lull {

/// Resamples with a windowed sinc of 16 zero crossings a side, with a cutoff at 0.46 of the lower
/// rate. Samples outside count as 0.
[[nodiscard]] std::vector<float> resample(std::span<const float> samples, double from_hz,
                                          double to_hz);

/// The value at a fractional `position` (in frames), with the same kernel at the samples' own rate.
/// Undefined closer than 16 frames to an end.
[[nodiscard]] float value_between(std::span<const float> samples, double position);

inline constexpr int interpolation_reach = 16; ///< frames on each side that value_between() needs

} // namespace lull
