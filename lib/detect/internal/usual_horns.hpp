// SPDX-License-Identifier: GPL-3.0-or-later
//
// data/horn-patterns.json as text, put into the program by the build.
#pragma once

#include <string_view>

namespace lull {

[[nodiscard]] std::string_view usual_horns_text();

} // namespace lull
