// SPDX-License-Identifier: GPL-3.0-or-later
//
// All sounds of a site except voices and knocks, and the function that turns any drawn event into
// samples.
#pragma once

#include "detect/event.hpp"
#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"
#include "synthesis/snr.hpp"

#include <string>
#include <vector>

namespace lull {

/// An event with everything drawn.
struct DrawnEvent {
    Sound sound = Sound::knocks;
    double time_s = 0.0;
    Range times_s; ///< the range it was drawn from
    Position position_m{};
    double snr_db = 0.0;
    Material material = Material::concrete;
    int count = 1;
    double interval_s = 0.0, unevenness = 0.0, duration_s = 0.0;
    std::string file; ///< of speech, as a path that can be opened
    bool hail = false;
    std::string note;
    Random shape{0}; ///< random numbers of its sound
};

/// A source's sound at 1 m, of arbitrary level.
struct Emission {
    std::vector<float> samples;
    std::vector<double> strikes_s; ///< of knocks, from the first sample
};

[[nodiscard]] bool sounds_in_air(Sound sound);
[[nodiscard]] EventKind kind_of(Sound sound);
[[nodiscard]] LevelRule level_rule_of(Sound sound); ///< louder half for voices, else peak energy

/// \throws Error(input) when a speech file cannot be read or is longer than 20 s
[[nodiscard]] Emission emit(const DrawnEvent& event, double rate_hz);

/// One sound of a site: a drip, a tick, a footstep, a strike, a radio message, a slide.
[[nodiscard]] std::vector<float> site_sound(LayerKind kind, Random random, double rate_hz);
[[nodiscard]] bool site_sounds_in_air(LayerKind kind);

} // namespace lull
