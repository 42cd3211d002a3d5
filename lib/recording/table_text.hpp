// SPDX-License-Identifier: GPL-3.0-or-later
//
// Reads the text of a table that a person or a spreadsheet wrote, whatever its encoding, line ends
// and separator. All tables are read here: sheets, truths, judgements, logs and others.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// Reads a whole file. \throws Error(input) with the system's reason
[[nodiscard]] std::string read_table_bytes(const std::string& file);

/// The bytes as UTF-8. Skips a byte-order mark; converts UTF-16 with a mark, and Latin-1.
/// \throws Error(input) for bytes that are no text (a spreadsheet's own file, a document, a
///         picture); it says what they are and what to do
[[nodiscard]] std::string table_text(std::string_view bytes, const std::string& file);

/// Lines without line ends: LF, CRLF or CR.
[[nodiscard]] std::vector<std::string_view> lines_of(std::string_view text);

struct Separator {
    char sign = ',';
    bool stated = false; ///< by a first line `sep=;`, which is no row
};

/// Comma, semicolon or tab: the one that a first line states, else the one in a heading of words,
/// else the one that most lines have.
[[nodiscard]] Separator separator_of(const std::vector<std::string_view>& lines);

} // namespace lull
