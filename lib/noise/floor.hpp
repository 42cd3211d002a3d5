// SPDX-License-Identifier: GPL-3.0-or-later
//
// The noise floor: the mean power when there are no events. The noise table, detection and the SNR
// of arrivals all use it.
// Powers are averaged in cells of about 50 ms. The quiet cells of a 15 s window follow a gamma
// distribution. Its mean is the floor, and its shape is half the degrees of freedom; events add
// cells above it. Both parameters are fitted to the lowest mode alone: to cells under the 85th
// percentile of the fit, whose mean and mean logarithm are corrected for the truncation
// (gamma_fit.hpp). So the correction depends on occupancy and degrees of freedom, which both come
// from the data. Then a window that ends at a step is compared with one that begins there. Where
// they differ, a lasting change lies between them, and the higher one is used on its own side if it
// has enough quiet cells.
#pragma once

#include "conventions.hpp"
#include "recording/recording.hpp"
#include "signal/tracks.hpp"

#include <span>
#include <vector>

namespace lull {

inline constexpr double floor_cell_s = 0.05;   ///< shortest averaging time, about
inline constexpr double floor_step_s = 1.0;    ///< steps of the floor, about
inline constexpr double floor_window_s = 15.0; ///< before a step, and as much after it
inline constexpr double floor_reach_s = 20.0;  ///< a step depends on nothing further away

/// The floor of a power track. Cells and steps lie on rasters counted from frame 0 of the time
/// line. A step depends on nothing further away than floor_reach_s, so that a unit of work with its
/// run-in gives the same steps as the whole recording.
///
/// \param power    mean square, one value a hop; negative or not finite: left out
/// \param first    time-line frame where hop 0 begins
/// \param hop      frames, >= 1
/// \param rate_hz  frames a second, > 0
/// \param missing  stretches without data (their channel is ignored): left out
/// \param bandwidth_hz  of the band of the power, > 0. Bands narrower than 80 Hz get longer cells,
///                      of 8 degrees of freedom but at most 0.3 s; the shortest event that can be
///                      separated from noise grows with them. Bands narrower than 16 Hz are taken
///                      as third octaves in hops of about 0.1 s, and their ringing after events is
///                      left out. If no pause between events outlasts the ringing (0.55 s at 25 Hz
///                      for events 20 dB over the floor), no quiet cells remain: the floor is then
///                      too high and its confidence falls.
/// Power and confidence are 0 where a window holds no sound at all. Empty for an empty track.
[[nodiscard]] FloorTrack noise_floor(std::span<const float> power, Frame first, Frame hop,
                                     double rate_hz, std::span<const Run> missing = {},
                                     double bandwidth_hz = 1e9);

[[nodiscard]] FloorTrack noise_floor(const LevelTrack& level, double rate_hz,
                                     std::span<const Run> missing = {});

/// One floor for each band of a spectrum track.
[[nodiscard]] std::vector<FloorTrack> band_floors(const SpectrumTrack& spectrum, double rate_hz,
                                                  std::span<const Run> missing = {});

} // namespace lull
