// SPDX-License-Identifier: GPL-3.0-or-later
//
// Impulses: from a candidate instant to a measured arrival.
#pragma once

#include "detect/event.hpp"
#include "detect/internal/candidates.hpp"
#include "detect/unit_input.hpp"

#include <span>

namespace lull {

inline constexpr double impulse_before_s = 0.10;      ///< waveform wanted before a candidate
inline constexpr double impulse_after_s = 0.40;       ///< and after it
inline constexpr double impulse_least_after_s = 0.15; ///< the same, where candidates are dense

/// What the tracks alone say of an impulse: onset to a frame, level to a hop.
[[nodiscard]] Arrival impulse_from_tracks(const ChannelTracks& tracks, const Instant& instant,
                                          double rate_hz);

/// Measures an impulse anew on the band-passed waveform.
/// \param waveform begins at frame `first` of the time line
/// \param next_s   onset of the next candidate on this channel: the event ends before it
/// \param late_s   by which the filter of the band delays what lies within it
void measure_on_waveform(Arrival& arrival, std::span<const float> waveform, Frame first,
                         double next_s, double rate_hz, Band band, double late_s);

/// Excess over the floor in each band of the spectrum, mean of frames [begin, end) [dB], >= 0.
[[nodiscard]] std::vector<float> band_excess_db(const ChannelTracks& tracks, std::size_t begin,
                                                std::size_t end);

/// Centre of the power over the floor [Hz].
[[nodiscard]] double excess_centroid_hz(const ChannelTracks& tracks, std::size_t begin,
                                        std::size_t end);

/// Words of an impulse, from its measures.
void explain_impulse(Arrival& arrival, const std::vector<double>& edges_hz);

} // namespace lull
