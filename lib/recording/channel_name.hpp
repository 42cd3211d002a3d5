// SPDX-License-Identifier: GPL-3.0-or-later
//
// Allowed names of channels.
#pragma once

#include <string>
#include <string_view>

namespace lull {

/// What is wrong with a channel's name; empty: nothing. Names appear in lists (`a;b`, `a,b`), which
/// trim blanks, and in lines of text.
[[nodiscard]] std::string fault_of_name(std::string_view name);
inline constexpr const char* channel_name_rule =
    "give 1 to 64 characters without ; and , and control characters, no blank at either end";

} // namespace lull
