// SPDX-License-Identifier: GPL-3.0-or-later
//
// How results came to be, as every JSON document tells it.
#pragma once

#include "report/json.hpp"
#include "review/settings.hpp"

#include <vector>

namespace lull {

/// The settings that shape a result; paths and threads are not among them.
[[nodiscard]] std::vector<SettingShown> shown_settings(const Settings& settings,
                                                       const Recording& recording);

} // namespace lull
