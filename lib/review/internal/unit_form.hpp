// SPDX-License-Identifier: GPL-3.0-or-later
//
// A unit's result as bytes.
#pragma once

#include "review/unit_pass.hpp"

#include <string>
#include <string_view>

namespace lull {

/// To be raised with every change of what a unit's result is or means.
inline constexpr int unit_form_version = 10;

/// The result, bit for bit as unit_of_bytes gives it back.
[[nodiscard]] std::string bytes_of_unit(UnitResult result);

/// \throws std::runtime_error for bytes that are not a whole result
[[nodiscard]] UnitResult unit_of_bytes(std::string_view bytes);

} // namespace lull
