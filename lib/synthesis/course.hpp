// SPDX-License-Identifier: GPL-3.0-or-later
//
// Level history of a layer of noise.
#pragma once

#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"

namespace lull {

/// Smooth noise of mean 0 and variance near 1 whose knots lie period_s apart. Any time can be
/// computed by itself.
[[nodiscard]] double slow_noise(const Random& random, double time_s, double period_s);

/// Level of a layer at a time relative to its stated level [dB]: gusts, passing traffic, ordered
/// quiet. -200 dB outside the layer's own time.
[[nodiscard]] double layer_course_db(const Plan& plan, const SiteLayer& layer, const Random& random,
                                     double time_s);

/// Whether quiet is ordered at the time and the layer obeys.
[[nodiscard]] bool silenced(const Plan& plan, const SiteLayer& layer, double time_s);

} // namespace lull
