// SPDX-License-Identifier: GPL-3.0-or-later
//
// The page's script and style, put together by the build from lib/report/page/.
#pragma once

#include <string_view>

namespace lull {

[[nodiscard]] std::string_view page_script();
[[nodiscard]] std::string_view page_style();

} // namespace lull
