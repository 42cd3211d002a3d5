// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which program this is, to the byte.
#pragma once

#include <string>

namespace lull {

/// SHA-256 of the program's own file; empty where the system does not give it.
[[nodiscard]] std::string program_digest();

} // namespace lull
