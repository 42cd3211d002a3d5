// SPDX-License-Identifier: GPL-3.0-or-later
//
// The measured figures that support a find.
#pragma once

#include "account/find.hpp"

#include <vector>

namespace lull {

[[nodiscard]] std::vector<Evidence> evidence_of(const Find& find, const FindInput& heard);

} // namespace lull
