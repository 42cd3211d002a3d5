// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tables as CSV: RFC 4180, UTF-8, a header row, CRLF line ends.
#pragma once

#include "report/table.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// A number as every file of ours shows it: fixed point, the column's decimals, a point whatever
/// the locale, no minus before a zero. Empty for what is not finite.
[[nodiscard]] std::string number_text(double value, int decimals);

/// Text that a spreadsheet would run as a formula (it begins with = + - @, a tab or CR) gets an
/// apostrophe before it. Lossless: text that begins with apostrophes and then such a character gets
/// one more, and plain_text() takes one away.
[[nodiscard]] std::string neutral_text(std::string_view text);
[[nodiscard]] std::string plain_text(std::string_view text);

/// The table as CSV, header first. Unknown cells are empty; text is made well-formed UTF-8.
[[nodiscard]] std::string to_csv(const Table& table);
/// Its rows alone, as they follow in to_csv.
[[nodiscard]] std::string csv_rows(const Table& table);

/// One row of a table that was read; a line counts from the header as 1.
struct CsvRow {
    int line = 0; ///< where the row begins
    std::vector<std::string> cells;
};

/// A table that was read, its columns found by name.
class CsvTable {
  public:
    /// Reads a file. A UTF-8 byte-order mark is skipped, blank lines are left out.
    /// \param required  columns that must be there, in any order among others
    /// \throws Error(input): unreadable, empty, not UTF-8 CSV, columns missing (all of them named)
    ///         or there twice, a row with fewer or more cells than the header
    CsvTable(std::string file, const std::vector<std::string>& required);

    [[nodiscard]] const std::vector<CsvRow>& rows() const { return rows_; }
    [[nodiscard]] bool has(std::string_view column) const;

    /// The cell as text, its apostrophe taken away; empty when the column is not there.
    [[nodiscard]] std::string text(const CsvRow& row, std::string_view column) const;
    /// A finite decimal number and nothing else; needed. \throws Error(input) naming line and
    /// column
    [[nodiscard]] double number(const CsvRow& row, std::string_view column) const;
    /// A whole number and nothing else; needed. \throws Error(input)
    [[nodiscard]] int whole(const CsvRow& row, std::string_view column) const;

    [[noreturn]] void fail(const CsvRow& row, std::string_view column, const std::string& what,
                           const std::string& mend) const;

  private:
    [[nodiscard]] std::size_t index_of(std::string_view column) const; ///< columns: not there

    std::string file_;
    std::vector<std::string> columns_;
    std::vector<CsvRow> rows_;
};

} // namespace lull
