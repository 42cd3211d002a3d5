// SPDX-License-Identifier: GPL-3.0-or-later
//
// The rows of a table that a person wrote, whatever its separator, encoding and line ends.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull {

struct WrittenRow {
    int line = 0;                   ///< of the file, from 1, where the row begins
    std::vector<std::string> cells; ///< UTF-8, trimmed
    std::string fault;              ///< why the row cannot be read; empty: no fault
};

struct WrittenRows {
    char separator = ',';
    std::vector<WrittenRow> rows; ///< without blank lines and lines of separators only
};

/// Splits the bytes of a table into rows (encoding and separator: recording/table_text.hpp). A
/// quote that never closes affects its own line only. Removes the apostrophe that keeps a
/// spreadsheet from running a cell. \throws Error(input) for bytes that are no text
[[nodiscard]] WrittenRows split_written_rows(std::string_view bytes, const std::string& file);

} // namespace lull
