// SPDX-License-Identifier: GPL-3.0-or-later
//
// Arrivals: what stood out on each channel of a unit of work, measured and judged.
#pragma once

#include "detect/event.hpp"
#include "detect/unit_input.hpp"

#include <vector>

namespace lull {

/// Longest sound that is followed [s]; one that lasts longer ends there, and `why` says so.
inline constexpr double longest_sound_s = 19.0;

/// Finds the arrivals whose onset lies in the core, on every channel, sorted by (onset, channel).
///
/// Candidates come from the tracks: instants and stretches in which the power of the spectrum's
/// bands is far less likely under the floor than above it. Waveforms are decoded round candidates
/// only: the onset of an impulse by the Akaike criterion [Maeda 1985], pitch and harmonicity of
/// what lasts. Voices are told by a network that all channels are shown to (detect/internal/
/// voices.hpp), where anything lasts. When candidates are so dense that more than half of the unit
/// would be decoded for impulses, or 0.6 of it for lasting sounds, looks at impulses are cut short,
/// and of them the rarest are granted (a clock's ticks are many and alike), of lasting sounds the
/// strongest; the rest is measured on the tracks (Shape::from_tracks).
///
/// Deterministic: depends on the tracks and waveforms of the unit alone.
[[nodiscard]] std::vector<Arrival> find_arrivals(const UnitInput& unit);

} // namespace lull
