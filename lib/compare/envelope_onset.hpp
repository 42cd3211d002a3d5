// SPDX-License-Identifier: GPL-3.0-or-later
//
// When an event's energy begins to arrive, where waves spread out on their way and no two channels
// have one waveform: in a plate bending waves travel the faster the higher they are, and what is
// strong comes late and differs from sensor to sensor.
#pragma once

#include "recording/recording.hpp"

#include <optional>
#include <span>
#include <vector>

namespace lull {

/// One channel's part.
struct EnvelopeOnset {
    double time_s = 0.0;        ///< on the stretch's time line; only differences between channels
                                ///< mean something
    double noise_sigma_s = 0.0; ///< from the noise alone
    double path_sigma_s = 0.0;  ///< what thresholds and waves differ by, the same at every blow
};

/// What the onsets are measured from.
struct EnvelopeInput {
    const Block* block = nullptr; ///< the noise before the event, then the event
    std::vector<int> channels;    ///< of one kind
    Frame noise_frames = 0;       ///< that lie before the event's stretch
    double rate_hz = 0.0;
    double search_s = 0.0; ///< the wave is at its strongest within this after them
};

/// For each channel the moment at which the envelope in the event's own band rises through shares
/// of its peak: the least share, a tenth, and twice that, the same on all channels and well above
/// the noise of each. The band is that of the event's energy over the noise, on all channels
/// together. Where the thresholds, set against the other channels, disagree, the sigma is wide.
/// None for a channel whose peak is not clear of its noise. \return one for each channel
[[nodiscard]] std::vector<std::optional<EnvelopeOnset>> envelope_onsets(const EnvelopeInput& input);

} // namespace lull
