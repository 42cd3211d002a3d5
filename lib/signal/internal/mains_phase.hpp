// SPDX-License-Identifier: GPL-3.0-or-later
//
// Follows the phase of the mains over a few seconds.
#pragma once

#include "signal/internal/phase_path.hpp"

#include <optional>

namespace lull {

struct MainsPhase {
    PhasePath path; ///< of the fundamental, from the first sample on
};

/// The mains within 3 Hz of one of the nominal frequencies, if the phase of one of its first three
/// harmonics is steady enough; the strongest if there are several. A network's phase is a parabola
/// in time; that of a generator under changing load is followed from block to block.
[[nodiscard]] std::optional<MainsPhase> find_mains(std::span<const float> samples, double rate_hz,
                                                   std::span<const double> nominal_hz);

} // namespace lull
