// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which events make one find.
#pragma once

#include "account/find.hpp"

#include <vector>

namespace lull {

/// Finds in order of their first event, not yet ranked.
[[nodiscard]] std::vector<Find> grouped(const FindInput& heard);

} // namespace lull
