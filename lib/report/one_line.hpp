// SPDX-License-Identifier: GPL-3.0-or-later
//
// Text for one line of a terminal or a log.
#pragma once

#include <string>

namespace lull {

/// Replaces control characters, which names and contents of files may hold, by blanks.
[[nodiscard]] inline std::string one_line(std::string text) {
    for (char& c : text)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
    return text;
}

} // namespace lull
