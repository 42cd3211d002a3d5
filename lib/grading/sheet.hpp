// SPDX-License-Identifier: GPL-3.0-or-later
//
// A trainee's sheet, read as leniently as a person would, and saying of every line that could not
// be.
#pragma once

#include "grading/sheet_time.hpp"
#include "grading/sheet_words.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// What is known of the recording that a sheet was written about.
struct SheetContext {
    Synonyms words = Synonyms::bare();
    std::optional<SheetStart> start;   ///< without it a clock time cannot be read
    std::optional<double> duration_s;  ///< helps to tell clock from stopwatch
    std::vector<std::string> channels; ///< names in order: a sheet may give numbers from 1
};

/// One line of a sheet.
struct Answer {
    int line = 0; ///< of the file, from 1
    double time_s = 0.0;
    std::optional<EventKind> kind;     ///< none: left blank, `?`, or not understood
    std::vector<std::string> channels; ///< as the recording names them; the first one counts
    std::optional<double> x_m, y_m;
    std::optional<double> confidence; ///< a program's own, when the file is its events
    std::string note;
};

/// Something in a sheet that could not be read.
struct SheetFault {
    int line = 0;
    std::string column;    ///< "time", "kind", ...; empty: the whole line
    std::string what;      ///< what stands there and what would be right
    bool line_lost = true; ///< false: the line is graded without that cell
};

struct Sheet {
    std::string name; ///< of who wrote it: the file's name without folder and ending
    std::string file;
    std::vector<Answer> answers; ///< in the order of the file
    std::vector<SheetFault> faults;
};

/// Reads a sheet: columns time, kind, channel, x_m, y_m, note in any order under a heading, or in
/// that order without one; lines above the heading are left aside. Times may be mixed; where two
/// readings of one (stopwatch or clock) both fall into the recording, the sheet's other lines
/// decide, and without them two-digit hours mean a clock. A table of events or truths is a sheet
/// too.
[[nodiscard]] Sheet parse_sheet(std::string_view bytes, const std::string& file,
                                const SheetContext& context);
/// \throws Error(input) when the file cannot be opened
[[nodiscard]] Sheet read_sheet(const std::string& file, const SheetContext& context);

/// Where the columns of a written table are.
struct SheetColumns {
    std::vector<std::string> names; ///< by position; empty: not one that is known
    std::size_t first_row = 0;      ///< of the rows, the first below the heading
    /// The cell of a column in a row, trimmed; empty when the row or the table has none.
    [[nodiscard]] std::string_view cell(const std::vector<std::string>& row,
                                        std::string_view column) const;
    [[nodiscard]] bool has(std::string_view column) const;
};

/// The recording's own spelling of a channel that is written as a name or a number from 1. With no
/// names known, whatever stands there. None: it is none of them.
[[nodiscard]] std::optional<std::string> channel_named(std::string_view written,
                                                       const std::vector<std::string>& channels);

} // namespace lull
