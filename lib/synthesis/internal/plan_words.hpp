// SPDX-License-Identifier: GPL-3.0-or-later
//
// The words of a plan, in the order of their enumerations.
#pragma once

#include "synthesis/internal/plan_reader.hpp"

#include <array>

namespace lull {

inline constexpr std::array sound_words{"knocks", "scratching", "movement", "call", "murmur",
                                        "cry",    "scream",     "speech",   "horn", "whistle"};
inline constexpr std::array material_words{"concrete", "steel", "pipe", "timber", "brick"};
inline constexpr std::array layer_words{
    "ambient",   "traffic",    "rain",    "wind",  "generator", "drips", "clock",
    "footsteps", "hand-tools", "breaker", "radio", "debris",    "noise"};
inline constexpr std::array fault_words{"clipping",     "dropouts",    "hum",           "dead",
                                        "badly-seated", "clock-drift", "wrong-polarity"};
inline constexpr std::array spreading_words{"body", "surface"};
inline constexpr std::array format_words{"wav-16", "wav-24", "flac-16", "flac-24"};
inline constexpr std::array sensor_words{"seismic", "air", "unknown"};

/// The enumerator of a word. \throws Error(input) naming the nearest word
template <typename Enum, std::size_t N>
Enum enum_of(const PlanReader& reader, const char* key, const std::string& word,
             const std::array<const char*, N>& words) {
    for (std::size_t i = 0; i < N; ++i) {
        if (word == words[i]) return static_cast<Enum>(i);
    }
    const std::string near = nearest_word(word, {words.begin(), words.end()});
    reader.fail(key, "\"" + word + "\" is not known", "did you mean \"" + near + "\"?");
}

} // namespace lull
