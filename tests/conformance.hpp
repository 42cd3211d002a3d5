// SPDX-License-Identifier: GPL-3.0-or-later
//
// Collects the checks that stand on something outside the project into data/conformance.md.
#pragma once

#include <string>

namespace lull {

/// One row of the generated table. When the environment variable LULL_CONFORMANCE names a folder,
/// the row is written there as one JSON file named after the check; scripts/conformance joins them.
struct ConformanceRow {
    std::string check;    ///< "Butterworth order 4, 60-2000 Hz at 16 kHz: level at 60 Hz"; unique
    std::string source;   ///< "SciPy 1.10.1", "IEC 61260-1:2014"
    std::string clause;   ///< table, clause or script; "from memory" where it is
    double expected = 0.0;
    double got = 0.0;
    double tolerance = 0.0; ///< absolute, same unit
    std::string unit;       ///< "dB", "s", ""
};

/// Records the row and reports through GoogleTest (EXPECT_NEAR) whether it holds.
void check_conformance(const ConformanceRow& row);

} // namespace lull
