// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/channel_name.hpp"

#include <algorithm>
#include <cstddef>

namespace lull {

std::string fault_of_name(std::string_view name) {
    constexpr std::ptrdiff_t longest = 64;
    if (name.empty()) return "is empty";
    const auto is_start = [](char c) { return (static_cast<unsigned char>(c) & 0xc0U) != 0x80U; };
    if (std::ranges::count_if(name, is_start) > longest) return "is longer than 64 characters";
    if (name.front() == ' ' || name.back() == ' ') return "begins or ends with a blank";
    for (std::size_t i = 0; i < name.size(); ++i) {
        const auto byte = static_cast<unsigned char>(name[i]);
        if (byte == ';' || byte == ',') return std::string("holds ") + name[i];
        const bool second_set = byte == 0xc2 && i + 1 < name.size() && // U+0080 to U+009F
                                static_cast<unsigned char>(name[i + 1]) < 0xa0;
        if (byte < 0x20 || byte == 0x7f || second_set) return "holds a control character";
    }
    return "";
}

} // namespace lull
