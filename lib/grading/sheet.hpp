// SPDX-License-Identifier: GPL-3.0-or-later
//
// Reads a trainee's sheet as leniently as a person would, and reports every line that it cannot
// read.
#pragma once

#include "grading/sheet_time.hpp"
#include "grading/sheet_words.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// What is known about the recording of a sheet.
struct SheetContext {
    Synonyms words = Synonyms::bare();
    std::optional<SheetStart> start;   ///< needed for clock times
    std::optional<double> duration_s;  ///< helps to distinguish clock from stopwatch
    std::vector<std::string> channels; ///< names in order; a sheet may give numbers from 1
};

/// One line of a sheet.
struct Answer {
    int line = 0; ///< of the file, from 1
    double time_s = 0.0;
    std::optional<EventKind> kind;     ///< empty: left blank, `?`, or not understood
    std::vector<std::string> channels; ///< as the recording names them; the first one counts
    std::optional<double> x_m, y_m;
    std::optional<double> confidence; ///< a program's own, when the file is its finds or events
    std::optional<double> end_s;      ///< of a find, which may stand for what it overlaps
    std::string note;
};

/// Something in a sheet that could not be read.
struct SheetFault {
    int line = 0;
    std::string column;    ///< "time", "kind", ...; empty: the whole line
    std::string what;      ///< what is written there, and what would be right
    bool line_lost = true; ///< false: the line is graded without that cell
};

struct Sheet {
    std::string name; ///< the writer: the file's name without folder and ending
    std::string file;
    std::vector<Answer> answers; ///< in the order of the file
    std::vector<SheetFault> faults;
};

/// Reads a sheet: columns time, kind, channel, x_m, y_m, note in any order under a heading, or in
/// that order without one. Lines above the heading are ignored. Formats of times may be mixed. If
/// both readings of a time (stopwatch or clock) fall into the recording, the sheet's other lines
/// decide; failing that, two-digit hours mean a clock. A table of events or truths is a sheet too.
[[nodiscard]] Sheet parse_sheet(std::string_view bytes, const std::string& file,
                                const SheetContext& context);
/// \throws Error(input) when the file cannot be opened
[[nodiscard]] Sheet read_sheet(const std::string& file, const SheetContext& context);

/// The columns of a written table.
struct SheetColumns {
    std::vector<std::string> names; ///< by position; empty: an unknown column
    std::size_t first_row = 0;      ///< index of the first row below the heading
    /// The cell of a column in a row, trimmed; empty when the row or the table does not have it.
    [[nodiscard]] std::string_view cell(const std::vector<std::string>& row,
                                        std::string_view column) const;
    [[nodiscard]] bool has(std::string_view column) const;
};

/// The recording's own spelling of a channel that is written as a name or a number from 1. If no
/// names are known, the text as written. Empty: not a channel.
[[nodiscard]] std::optional<std::string> channel_named(std::string_view written,
                                                       const std::vector<std::string>& channels);

} // namespace lull
