// SPDX-License-Identifier: GPL-3.0-or-later
//
// What many hours came to, as tables, JSON and text.
#pragma once

#include "account/account.hpp"
#include "report/json.hpp"

#include <string>

namespace lull {

/// night.csv: a row each find, most deserving first.
[[nodiscard]] Table night_table(const Account& account);

/// night.json ("format": "lull-night"; data/schema/night.schema.json).
[[nodiscard]] std::string night_json(const Account& account);

/// A find as one says it: "02:00:28, tapping, 5 taps, stairwell, confidence 0.97, 14 dB over the
/// noise".
[[nodiscard]] std::string find_text(const Find& find, const Recording& recording);

inline constexpr std::size_t handover_most_bytes = 2048;

/// handover.txt: at most handover_most_bytes, in short sentences that can be read over a radio.
/// What was not analysed comes first.
[[nodiscard]] std::string handover_text(const Account& account);

} // namespace lull
