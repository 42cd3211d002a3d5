// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a rhythm resembles.
#pragma once

#include "detect/internal/rhythm.hpp"

#include <string>

namespace lull {

/// "a drip", "a clock", "a machine", "footsteps" or "hammering", by rhythm, length of the run and
/// pitch [practice]; empty when it is like none of them. Evidence beside a kind, never the kind:
/// somebody who knocks on and on resembles them too.
/// \param centroid_hz  mean of the taps
[[nodiscard]] std::string resemblance(const TapGroup& run, double centroid_hz);

} // namespace lull
