// SPDX-License-Identifier: GPL-3.0-or-later
//
// What units give, joined in their order.
#pragma once

#include "review/unit_pass.hpp"

namespace lull {

/// Joins the result of the next unit to what came before it, which is empty at first.
void join(UnitResult& whole, UnitResult&& next);

} // namespace lull
