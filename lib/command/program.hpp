// SPDX-License-Identifier: GPL-3.0-or-later
//
// Identifies this program's exact build.
#pragma once

#include <string>

namespace lull {

/// SHA-256 of the program's own file; empty where the system does not give it.
[[nodiscard]] std::string program_digest();

} // namespace lull
