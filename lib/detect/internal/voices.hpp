// SPDX-License-Identifier: GPL-3.0-or-later
//
// Where voices sound, by what all channels of a unit hear together.
#pragma once

#include "detect/unit_input.hpp"

#include <utility>
#include <vector>

namespace lull {

/// A stretch in which a voice may sound.
struct VoiceStretch {
    double onset_s = 0.0, end_s = 0.0;
    double odds = 0.0;      ///< log odds: largest mean over 0.18 s
    std::vector<float> own; ///< the same of what each channel hears by itself
    bool cut = false;       ///< goes on, and is told of in parts
};

/// Stretches in time order, apart from each other. Where it is likelier than not that a voice
/// sounds, they end with that; a fainter suspicion makes stretches only outside of those.
///
/// \param where  stretches [s] that are worth looking at, in any order: what lasts begins and ends
///               in them. The network is shown nothing else but what it needs around them.
[[nodiscard]] std::vector<VoiceStretch> find_voices(const UnitInput& unit,
                                                    std::vector<std::pair<double, double>> where);

} // namespace lull
