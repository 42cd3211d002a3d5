// SPDX-License-Identifier: GPL-3.0-or-later
//
// The text of a table that a person or a spreadsheet wrote: whatever encoding, line ends and
// separator. Sheets, truths, judgements, logs and all other tables come in here.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// Reads a whole file. \throws Error(input) with the system's reason
[[nodiscard]] std::string read_table_bytes(const std::string& file);

/// The bytes as UTF-8: a byte-order mark is skipped, UTF-16 with its mark and Latin-1 are turned.
/// \throws Error(input) saying what it is and what to do, where it is no text: a spreadsheet's own
///         file, a document, a picture
[[nodiscard]] std::string table_text(std::string_view bytes, const std::string& file);

/// Lines without their ends: LF, CRLF or CR.
[[nodiscard]] std::vector<std::string_view> lines_of(std::string_view text);

struct Separator {
    char sign = ',';
    bool stated = false; ///< by a first line `sep=;`, which is no row
};

/// Comma, semicolon or tab: what a first line states, else what separates the words of a heading,
/// else the one that the most lines hold.
[[nodiscard]] Separator separator_of(const std::vector<std::string_view>& lines);

} // namespace lull
