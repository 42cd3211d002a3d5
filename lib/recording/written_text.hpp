// SPDX-License-Identifier: GPL-3.0-or-later
//
// Parsing of words and numbers that people and spreadsheets write.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace lull {

/// Text without white space around it.
[[nodiscard]] std::string_view trimmed(std::string_view text);
/// ASCII letters in lower case; other bytes unchanged.
[[nodiscard]] std::string lower_case(std::string_view text);

/// A number with a decimal point or comma and nothing else; otherwise empty.
[[nodiscard]] std::optional<double> parse_written_number(std::string_view text);

/// Puts an apostrophe before a text that a spreadsheet would run as a formula (it begins with = + -
/// @, a tab or CR). Lossless: if apostrophes already precede such a character, one more is added,
/// and plain_text() removes one.
[[nodiscard]] std::string neutral_text(std::string_view text);
[[nodiscard]] std::string plain_text(std::string_view text);

} // namespace lull
