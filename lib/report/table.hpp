// SPDX-License-Identifier: GPL-3.0-or-later
//
// A table in memory: the one form in which every result leaves the program, as CSV or as JSON.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace lull {

/// Unknown is std::monostate: an empty cell in CSV, null in JSON, never 0.
using Cell = std::variant<std::monostate, double, std::int64_t, std::string>;

struct Column {
    std::string name;  ///< with its unit: onset_s, peak_db
    int decimals = -1; ///< of doubles; -1: text or whole numbers
};

struct Table {
    std::string name; ///< "events"
    std::vector<Column> columns;
    std::vector<std::vector<Cell>> rows; ///< each as long as columns
};

} // namespace lull
