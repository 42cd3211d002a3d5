// SPDX-License-Identifier: GPL-3.0-or-later
//
// Knocks: a struck object as a sum of decaying modes, excited by a contact of finite length.
#pragma once

#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"

#include <vector>

namespace lull {

struct Mode {
    double frequency_hz = 0.0;
    double decay_s = 0.0; ///< time of a fall by 60 dB
    double amplitude = 0.0;
};

/// One object and the way it is struck. Its strikes are similar, but never equal.
struct Struck {
    std::vector<Mode> modes;
    double contact_s = 0.001; ///< length of the half-sine force pulse
    double crunch = 0.2;      ///< amplitude of the noise of the contact
    double crunch_decay_s = 0.015;
    double force_spread_db = 2.5; ///< standard deviation between strikes
};

/// Draws an object of a material. Ranges of modes and decays are ours, chosen by ear [practice].
/// Ratios of pipe modes follow a free bar, 1 : 2.757 : 5.404 : 8.933 [published: Rayleigh, Theory
/// of Sound, chapter VIII].
[[nodiscard]] Struck draw_struck(Material material, Random& random);

/// One strike from the contact on, until it has fallen 60 dB.
[[nodiscard]] std::vector<float> strike(const Struck& struck, Random& random, double rate_hz);

} // namespace lull
