// SPDX-License-Identifier: GPL-3.0-or-later
//
// What taps that are no person's knocking sound like, named.
#pragma once

#include "detect/internal/group_features.hpp"

#include <string>

namespace lull {

/// "a drip", "a clock", "a machine", "footsteps", "hammering", "rain" or "settling debris", by
/// rhythm, length of the run, pitch and what else is heard around it [practice]; empty when the
/// taps are like none of them.
[[nodiscard]] std::string resemblance(const GroupFeatures& features);

} // namespace lull
