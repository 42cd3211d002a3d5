// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/sheet_rows.hpp"

#include "error.hpp"
#include "recording/table_text.hpp"
#include "recording/written_text.hpp"

#include <csv.h>

#include <algorithm>

namespace lull {
namespace {

/// Most lines of a quoted cell. Beyond them, the quote was not meant to open a cell.
constexpr std::size_t longest_cell_lines = 20;

/// Whether a cell begins with a quote that this text does not close.
bool leaves_quote_open(std::string_view text, char separator) {
    bool quoted = false, at_start = true;
    for (const char c : text) {
        const bool turns = c == '"' && (quoted || at_start);
        if (turns) quoted = !quoted;
        // A doubled quote opens the cell again, so the place after a closed one counts as a start.
        at_start = !quoted && (turns || c == separator || (at_start && c == ' '));
    }
    return quoted;
}

std::vector<std::string> cells_of(std::string_view record, char separator) {
    std::vector<std::string> cells;
    csv_parser parser;
    if (csv_init(&parser, 0) != 0)
        throw Error(ErrorKind::output, "", "", "cannot set up the reader of tables", "");
    csv_set_delim(&parser, static_cast<unsigned char>(separator));
    const auto keep = [](void* cell, std::size_t length, void* into) {
        const std::string_view text(static_cast<const char*>(cell), length);
        static_cast<std::vector<std::string>*>(into)->emplace_back(plain_text(trimmed(text)));
    };
    csv_parse(&parser, record.data(), record.size(), keep, nullptr, &cells);
    csv_fini(&parser, keep, nullptr, &cells);
    csv_free(&parser);
    return cells;
}

} // namespace

WrittenRows split_written_rows(std::string_view bytes, const std::string& file) {
    const std::string text = table_text(bytes, file);
    const std::vector<std::string_view> lines = lines_of(text);
    const Separator separator = separator_of(lines);
    WrittenRows result;
    result.separator = separator.sign;
    std::size_t i = separator.stated ? 1 : 0;
    for (; i < lines.size(); ++i) {
        WrittenRow row;
        row.line = static_cast<int>(i) + 1;
        std::string record(lines[i]);
        std::size_t last = i;
        while (leaves_quote_open(record, result.separator) && last + 1 < lines.size() &&
               last - i < longest_cell_lines)
            record += "\n" + std::string(lines[++last]);
        if (leaves_quote_open(record, result.separator)) {
            row.fault = "a quotation mark is opened and not closed";
        } else {
            row.cells = cells_of(record, result.separator);
            i = last;
        }
        const bool blank =
            row.fault.empty() && std::all_of(row.cells.begin(), row.cells.end(),
                                             [](const std::string& cell) { return cell.empty(); });
        if (!blank) result.rows.push_back(std::move(row));
    }
    return result;
}

} // namespace lull
