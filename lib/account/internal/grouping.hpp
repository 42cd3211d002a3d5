// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which events form one find.
#pragma once

#include "account/find.hpp"

#include <vector>

namespace lull {

/// Finds in order of their first event, not ranked yet.
[[nodiscard]] std::vector<Find> grouped(const FindInput& heard);

} // namespace lull
