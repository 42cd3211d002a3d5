// SPDX-License-Identifier: GPL-3.0-or-later
//
// The rows of a table that a person wrote: whatever separator, encoding mark and line ends.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull {

struct WrittenRow {
    int line = 0;                   ///< of the file, from 1: where the row begins
    std::vector<std::string> cells; ///< UTF-8, trimmed
    std::string fault;              ///< why the row cannot be read; empty when it can
};

struct WrittenRows {
    char separator = ',';
    std::vector<WrittenRow> rows; ///< blank lines, and lines of separators only, are left out
};

/// Splits a text into rows. The separator (comma, semicolon or tab) is the one that the most lines
/// hold, or what a first line `sep=;` says. A byte-order mark is skipped, UTF-16 with its mark and
/// Latin-1 are turned into UTF-8. A quote that never closes spoils its own line only.
[[nodiscard]] WrittenRows split_written_rows(std::string_view bytes);

/// Reads a whole file. \throws Error(input) with the system's reason.
[[nodiscard]] std::string read_written_file(const std::string& path);

} // namespace lull
