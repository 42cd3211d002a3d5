// SPDX-License-Identifier: GPL-3.0-or-later
//
// How a result was made.
#pragma once

#include "recording/recording.hpp"

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace lull {

/// Unknown is std::monostate: an empty cell in CSV, null in JSON, never 0.
using Cell = std::variant<std::monostate, double, std::int64_t, std::string>;

/// A setting as reports show it. Its name holds the unit: band_low_hz.
struct SettingShown {
    std::string name;
    Cell value;
    int decimals = 3;
};

/// The head of every JSON document.
struct Provenance {
    std::string tool; ///< "lull-detect"
    std::vector<SettingShown> settings;
    const Recording* recording = nullptr; ///< inputs, start, notices; never null
};

} // namespace lull
