// SPDX-License-Identifier: GPL-3.0-or-later
//
// What followed the team's hails, in words.
#pragma once

#include "detect/hail_chance.hpp"
#include "report/language.hpp"

#include <string>

namespace lull {

/// "3 hails: 4 occurrences followed, 0.6 expected by chance (0.2-1.4); ...".
[[nodiscard]] std::string hail_sentence(const HailChance& chance, const Language& say);

} // namespace lull
