// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/report_data.hpp"

#include <algorithm>

namespace lull {

std::size_t finds_shown(const std::vector<Find>& finds) {
    constexpr std::size_t least = 60, most = 600;
    const auto foremost = static_cast<std::size_t>(std::ranges::count_if(finds, is_foremost));
    return std::min(finds.size(), std::clamp(foremost, least, most));
}

} // namespace lull
