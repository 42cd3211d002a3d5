// SPDX-License-Identifier: GPL-3.0-or-later
//
// Levels of an arrival, as the design defines them.
#pragma once

#include "conventions.hpp"
#include "signal/tracks.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// An impulse measured on the band-passed waveform.
struct ImpulseMeasures {
    double peak = 0.0;        ///< largest absolute sample from the onset to the end
    double peak_energy = 0.0; ///< largest mean power over any 50 ms that begins in the event
    double energy = 0.0;      ///< integral of power from onset to end [s]
    double rise_s = 0.0;      ///< onset to the largest sample
    double decay_s = 0.0;     ///< largest sample to 20 dB less, or to the floor
    bool decay_to_floor = false;
    double duration_s = 0.0; ///< onset to end
    double early = 0.0;      ///< 0..1: share of the energy that the first half of it holds
};

/// \param waveform    band-passed, full scale = 1
/// \param onset       index of the onset in it
/// \param limit       one past the last index that may belong to the event
/// \param floor_power mean square of the noise
[[nodiscard]] ImpulseMeasures measure_impulse(std::span<const float> waveform, std::size_t onset,
                                              std::size_t limit, double rate_hz,
                                              double floor_power);

/// A lasting sound, or an impulse among too many, measured on the level track.
struct LevelMeasures {
    double peak = 0.0;
    double peak_energy = 0.0; ///< largest mean power over 52 ms: 13 hops of 4 ms
    double louder_half = 0.0; ///< mean power of the louder half of its pieces of 52 ms
    double energy = 0.0;      ///< [s]
    double spread_db = 0.0;   ///< between the 10th and 90th percentile of the pieces' levels
};

/// \param from, to frames of the time line; parts outside the track are left out
[[nodiscard]] LevelMeasures measure_level(const LevelTrack& level, Frame from, Frame to,
                                          double rate_hz);

/// Largest mean square over any `window` consecutive samples that begins in [from, to).
[[nodiscard]] double largest_mean_power(std::span<const float> waveform, std::size_t from,
                                        std::size_t to, std::size_t window);

} // namespace lull
