// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tracks: what the streaming pass keeps of a channel in a unit of work. Every later judgement
// (floor, quiet, detection, fitness, pictures) uses these and not samples.
#pragma once

#include "conventions.hpp"

#include <array>
#include <span>
#include <vector>

namespace lull {

inline constexpr double level_hop_s = 0.004; ///< of the level track
/// of the spectrum track; its window is twice as long
inline constexpr double spectrum_hop_s = 0.008;

/// Level of the band-passed channel, hop by hop without overlap.
struct LevelTrack {
    Frame first = 0;          ///< time-line frame where hop 0 begins
    Frame hop = 1;            ///< frames
    std::vector<float> power; ///< mean square over the hop
    std::vector<float> peak;  ///< largest absolute sample in the hop
};

/// The lower edges of a spectrum track's bands, up to the rate's limit: about half an octave apart
/// where the window can resolve bands.
inline constexpr std::array<double, 12> spectrum_edges_hz{60,   180,  305,  430,  600,  850,
                                                          1200, 1700, 2400, 3400, 4800, 8000};

/// Short-time power in contiguous bands.
struct SpectrumTrack {
    Frame first = 0;              ///< time-line frame of the centre of frame 0
    Frame hop = 1;                ///< frames between centres
    std::vector<double> edges_hz; ///< bands + 1 edges, rising
    std::vector<float> power;     ///< [frame * bands + band], mean square of the band's share

    [[nodiscard]] std::size_t bands() const { return edges_hz.empty() ? 0 : edges_hz.size() - 1; }
    [[nodiscard]] std::size_t frames() const { return bands() ? power.size() / bands() : 0; }
    [[nodiscard]] std::span<const float> frame(std::size_t i) const {
        return {power.data() + i * bands(), bands()};
    }
};

/// A noise floor: the mean power when there are no events, with a confidence.
struct FloorTrack {
    Frame first = 0;               ///< time-line frame where step 0 begins
    Frame hop = 1;                 ///< frames a step
    std::vector<float> power;      ///< mean square of the noise; 0 where the channel is silent
    std::vector<float> confidence; ///< 0..1: share of quiet on which the estimate is based

    /// The step that holds a frame, clamped to the track. Undefined for an empty track.
    [[nodiscard]] std::size_t step_of(Frame frame) const {
        const Frame step = (frame - first) / hop;
        const auto last = static_cast<Frame>(power.size()) - 1;
        return static_cast<std::size_t>(step < 0 ? 0 : step > last ? last : step);
    }
};

} // namespace lull
