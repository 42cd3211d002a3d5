// SPDX-License-Identifier: GPL-3.0-or-later
//
// A table in memory: the one form in which every result leaves the program, as CSV or as JSON.
#pragma once

#include "account/provenance.hpp"

#include <string>
#include <vector>

namespace lull {

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
