// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a channel may be called.
#pragma once

#include <string>
#include <string_view>

namespace lull {

/// What is wrong with a channel's name; empty when nothing is. Names stand in lists (`a;b`, `a,b`),
/// from which blanks at their ends are taken, and in lines of text.
[[nodiscard]] std::string fault_of_name(std::string_view name);
inline constexpr const char* channel_name_rule =
    "give 1 to 64 characters without ; and , and control characters, no blank at either end";

} // namespace lull
