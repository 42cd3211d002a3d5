// SPDX-License-Identifier: GPL-3.0-or-later
//
// The noise floor: the mean power that is there when nothing happens. One mechanism serves the
// noise table, detection and the SNR of arrivals.
//
// Powers are gathered into cells of about 50 ms. The quiet cells of a 15 s window follow a gamma
// distribution, whose mean is the floor and whose shape is half the degrees of freedom; events add
// cells above it. Both parameters are fitted to the lowest mode alone: cells under the 85th
// percentile of the fit, whose mean and mean logarithm are put right for what was cut off
// (gamma_fit.hpp). So the correction depends on occupancy and on degrees of freedom, and both are
// taken from the data. A window that ends at a step and one that begins there are then compared:
// where they disagree a lasting change lies between, and the higher one that stands on enough quiet
// is right on its side of the change.
#pragma once

#include "conventions.hpp"
#include "recording/recording.hpp"
#include "signal/tracks.hpp"

#include <span>
#include <vector>

namespace lull {

inline constexpr double floor_cell_s = 0.05;   ///< powers are averaged over about this at least
inline constexpr double floor_step_s = 1.0;    ///< steps of the floor, about
inline constexpr double floor_window_s = 15.0; ///< a step is taken from so much before and after
inline constexpr double floor_reach_s = 20.0;  ///< and depends on nothing further away than this

/// The floor of a power track. Cells and steps lie on rasters counted from frame 0 of the time
/// line, and a step depends on nothing further away than floor_reach_s, so that a unit of work
/// with its run-in gives the steps of the whole recording.
///
/// \param power    mean square, a value for each hop; not finite or negative: left out
/// \param first    time-line frame where hop 0 begins
/// \param hop      frames, >= 1
/// \param rate_hz  frames a second, > 0
/// \param missing  stretches without data (channel is not looked at): left out
/// \param bandwidth_hz  of what the power is of, > 0. Bands narrower than 80 Hz get longer cells,
///                 of 8 degrees of freedom but at most 0.3 s; the shortest event that can be told
///                 from noise grows with them. Of bands narrower than 16 Hz, which are taken to be
///                 third octaves in hops of about 0.1 s, what rings on after events is left out.
///                 Where no lull between events outlasts the ringing (0.55 s at 25 Hz for events
///                 20 dB over the floor), no quiet is left: the floor then reads high and its
///                 confidence falls.
/// Power is 0, confidence 0, where a window holds no sound at all. Empty for an empty track.
[[nodiscard]] FloorTrack noise_floor(std::span<const float> power, Frame first, Frame hop,
                                     double rate_hz, std::span<const Run> missing = {},
                                     double bandwidth_hz = 1e9);

[[nodiscard]] FloorTrack noise_floor(const LevelTrack& level, double rate_hz,
                                     std::span<const Run> missing = {});

/// One floor for each band of a spectrum track.
[[nodiscard]] std::vector<FloorTrack> band_floors(const SpectrumTrack& spectrum, double rate_hz,
                                                  std::span<const Run> missing = {});

} // namespace lull
