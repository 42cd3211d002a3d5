// SPDX-License-Identifier: GPL-3.0-or-later
//
// Collects the checks against sources outside the project in data/conformance.md.
#pragma once

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <string>

namespace lull {

/// One row of the generated table. If the environment variable LULL_CONFORMANCE names a folder, the
/// row is written there as one JSON file named after the check; scripts/conformance joins them.
struct ConformanceRow {
    std::string check;  ///< "Butterworth order 4, 60-2000 Hz at 16 kHz: level at 60 Hz"; unique
    std::string source; ///< "SciPy 1.10.1", "IEC 61260-1:2014"
    std::string clause; ///< table, clause or script; "from memory" where it is
    double expected = 0.0;
    double got = 0.0;
    double tolerance = 0.0; ///< absolute, same unit
    std::string unit;       ///< "dB", "s", ""
};

namespace conformance {

/// Writes the row. A repeated name is a fault, since rows must not hide each other.
inline void write(const ConformanceRow& row, const std::string& folder) {
    static int number = 0; // keeps the order of the tests in the table
    std::string name = row.check;
    std::ranges::replace_if(
        name, [](unsigned char c) { return std::isalnum(c) == 0 && c < 0x80; }, '-');
    const std::filesystem::path path = std::filesystem::path(folder) / (name + ".json");
    std::filesystem::create_directories(folder);
    EXPECT_FALSE(std::filesystem::exists(path)) << "two rows are called " << row.check;
    const nlohmann::json json{{"number", ++number},         {"check", row.check},
                              {"source", row.source},       {"clause", row.clause},
                              {"expected", row.expected},   {"got", row.got},
                              {"tolerance", row.tolerance}, {"unit", row.unit}};
    std::ofstream file(path);
    file << json.dump(1) << '\n';
    EXPECT_TRUE(file.flush().good()) << "cannot write " << path;
}

} // namespace conformance

/// Records the row and reports through GoogleTest (EXPECT_NEAR) whether it holds.
inline void check_conformance(const ConformanceRow& row) {
    EXPECT_NEAR(row.got, row.expected, row.tolerance) << row.check << " [" << row.source << "]";
    const char* folder = std::getenv("LULL_CONFORMANCE");
    if (folder != nullptr && *folder != '\0') conformance::write(row, folder);
}

} // namespace lull
