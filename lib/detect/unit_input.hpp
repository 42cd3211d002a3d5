// SPDX-License-Identifier: GPL-3.0-or-later
//
// What detection is given of one unit of work: the tracks of every channel over run-in, core and
// run-out, and a way back to the waveform.
#pragma once

#include "conventions.hpp"
#include "recording/channel.hpp"
#include "recording/recording.hpp"
#include "signal/band.hpp"
#include "signal/tracks.hpp"

#include <span>
#include <vector>

namespace lull {

struct ChannelTracks {
    const Channel* channel = nullptr;   ///< outlives the call; may be null: kind unknown
    LevelTrack level;                   ///< of the band-passed channel
    FloorTrack floor;                   ///< of that level
    SpectrumTrack spectrum;             ///< of the raw channel
    std::vector<FloorTrack> band_floor; ///< one for each band of the spectrum
};

struct UnitInput {
    double rate_hz = 0.0;
    Band band;                               ///< analysis band
    Frame core_begin = 0, core_end = 0;      ///< onsets in [core_begin, core_end) are reported
    std::span<const ChannelTracks> channels; ///< all alike in first frame, hop and length
    StretchOf band_passed;                   ///< all channels, band-passed to `band`
    double band_delay_s = 0.0;               ///< by which that is late; taken off onsets
    StretchOf raw;                           ///< all channels as decoded
};

} // namespace lull
