// SPDX-License-Identifier: GPL-3.0-or-later
//
// The difference of first arrivals, where reflections and scatter follow the first wave.
#pragma once

#include "compare/delay.hpp"
#include "compare/heard_spectrum.hpp"

#include <array>
#include <cstddef>
#include <span>

namespace lull {

constexpr std::size_t first_windows = 5; ///< lengths of windows from the first wave on

/// What one channel heard of an event.
struct HeardArrival {
    std::span<const float> samples; ///< the noise before the event, then the event; band-passed
    NoiseSpectrum noise;
    HeardSpectrum whole;                              ///< of all of the event
    double onset = 0.0;                               ///< of the first wave, by the Akaike
                                                      ///< criterion [samples]
    std::array<HeardSpectrum, first_windows> windows; ///< from the onset on
};

/// \param samples      outlive the result
/// \param event_begin  index of the first sample of the event's stretch
/// \param search_s     the first wave begins within this after event_begin
[[nodiscard]] HeardArrival heard_arrival(std::span<const float> samples, std::size_t event_begin,
                                         double search_s, double rate_hz, Band band,
                                         double longest_delay_s, TransformRoom& room);

/// The delay between the first waves. It is measured in windows from the onsets on, 2 ms long and
/// longer by twos, then over the whole event. In the shortest that stands above the noise hardly
/// anything but the first wave is heard; longer ones hear less noise and more of what came round.
/// The longest is taken whose delay agrees with all shorter ones within their noise, and whose
/// waveforms are alike [after Lepski 1991, Theory Probab. Appl. 35(3), who chooses a bandwidth so].
/// With one path to each channel that is the whole event and the likelihood of delay_between();
/// otherwise the next windows' disagreement and the unlikeness of the channels widen the sigma by
/// factors that were fitted to made scenes (scripts/evaluate_delays.py). Not usable where even the
/// first wave alone cannot be told from what follows it.
/// \param a, b  from stretches of one length, with one longest delay
[[nodiscard]] DelayEstimate first_arrival_delay(const HeardArrival& a, const HeardArrival& b,
                                                Band band, double longest_delay_s,
                                                TransformRoom& room);

} // namespace lull
