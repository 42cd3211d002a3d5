// SPDX-License-Identifier: GPL-3.0-or-later
//
// Words and numbers as people and spreadsheets write them.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace lull {

/// Text without white space around it.
[[nodiscard]] std::string_view trimmed(std::string_view text);
/// ASCII letters made small; other bytes as they are.
[[nodiscard]] std::string lower_case(std::string_view text);

/// A number with a decimal point or comma and nothing else, or none.
[[nodiscard]] std::optional<double> parse_written_number(std::string_view text);

/// Text that a spreadsheet would run as a formula (it begins with = + - @, a tab or CR) gets an
/// apostrophe before it. Lossless: text that begins with apostrophes and then such a character gets
/// one more, and plain_text() takes one away.
[[nodiscard]] std::string neutral_text(std::string_view text);
[[nodiscard]] std::string plain_text(std::string_view text);

} // namespace lull
