// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tables as CSV: RFC 4180, UTF-8, a header row, CRLF line ends.
#pragma once

#include "recording/start_time.hpp"
#include "recording/written_text.hpp"
#include "report/table.hpp"

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// A number as every file of ours shows it: fixed point, the column's decimals, a point whatever
/// the locale, no minus before a zero. Empty for what is not finite.
[[nodiscard]] std::string number_text(double value, int decimals);

/// How tables write an SNR over a digitally silent floor, in JSON too.
inline constexpr std::string_view infinite_text = "inf";

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
    /// Reads a file, whatever its encoding and separator (recording/table_text.hpp). Blank lines
    /// are left out. \param required  columns that must be there, in any order among others \throws
    /// Error(input): unreadable, empty, no CSV, columns missing (all of them named)
    ///         or there twice, a row with fewer or more cells than the header
    CsvTable(std::string file, const std::vector<std::string>& required);
    /// The same of text that stands for a file's. \param lines_before  of the file that lie between
    /// the text's header and its first row
    CsvTable(std::string file, std::string text, const std::vector<std::string>& required,
             int lines_before = 0);

    [[nodiscard]] const std::vector<CsvRow>& rows() const { return rows_; }
    [[nodiscard]] bool has(std::string_view column) const;

    /// The cell as text, its apostrophe taken away; empty when the column is not there.
    [[nodiscard]] std::string text(const CsvRow& row, std::string_view column) const;
    /// A finite decimal number and nothing else; needed. Where no comma separates, one may stand
    /// for the decimal point. \throws Error(input) naming line and column
    [[nodiscard]] double number(const CsvRow& row, std::string_view column) const;
    /// A time in any form that people write (parse_time) in seconds; needed. \throws Error(input)
    [[nodiscard]] double time(const CsvRow& row, std::string_view column,
                              const StartTime& start) const;
    /// A number, or infinite_text; none for an empty cell. \throws Error(input)
    [[nodiscard]] std::optional<double> snr(const CsvRow& row, std::string_view column) const;
    /// A whole number and nothing else; needed. \throws Error(input)
    [[nodiscard]] int whole(const CsvRow& row, std::string_view column) const;

    [[noreturn]] void fail(const CsvRow& row, std::string_view column, const std::string& what,
                           const std::string& mend) const;

  private:
    [[nodiscard]] std::size_t index_of(std::string_view column) const; ///< columns: not there

    std::string file_;
    char separator_ = ',';
    std::vector<std::string> columns_;
    std::vector<CsvRow> rows_;
};

/// Reads a table piece by piece, each with the header and whole rows, so that no more than a few
/// megabytes of it are in memory: in one piece when it is small.
/// \throws Error(input) as CsvTable does, after the pieces before the fault were taken
void in_csv_pieces(const std::string& file, const std::vector<std::string>& required,
                   const std::function<void(const CsvTable&)>& take);

} // namespace lull
