// SPDX-License-Identifier: GPL-3.0-or-later
//
// data/language/en.json, compiled in by the build.
#pragma once

#include <string_view>

namespace lull {

[[nodiscard]] std::string_view english_text();

} // namespace lull
