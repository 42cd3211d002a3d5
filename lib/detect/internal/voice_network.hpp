// SPDX-License-Identifier: GPL-3.0-or-later
//
// The network that tells voices from other sounds (data/models/voice.json): log bands of each
// channel through dilated convolutions, then what their mean and largest tell of the array.
#pragma once

#include "recording/channel.hpp"

#include <span>
#include <vector>

namespace lull {

/// Log odds that a voice sounds, a value each frame of the log bands.
struct VoiceOdds {
    std::vector<std::vector<float>> own; ///< by what each channel hears
    std::vector<float> all;              ///< by what all hear together
};

/// Frames on each side that a frame's odds depend on; those before the first and after the last
/// count as level.
inline constexpr std::size_t voice_context = 254;

/// \param bands  log_bands() of each channel, all of one length; one channel at least
/// \param kinds  of the channels
[[nodiscard]] VoiceOdds voice_odds(std::span<const std::vector<float>> bands,
                                   std::span<const ChannelKind> kinds);

} // namespace lull
