// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/csv.hpp"

#include "error.hpp"
#include "picture/text.hpp"

#include <csv.h>
#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstring>
#include <fstream>
#include <iterator>

namespace lull {
namespace {

std::string read_whole(const std::string& file) {
    errno = 0;
    std::ifstream stream(file, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(stream), {}};
    if (!stream.is_open() || stream.bad())
        throw_input(file, "", std::strerror(errno), "name a CSV file that can be read");
    if (bytes.starts_with("\xEF\xBB\xBF")) bytes.erase(0, 3);
    return bytes;
}

/// What libcsv calls back into. It does not count lines, so text is fed to it line by line.
struct Collector {
    std::vector<CsvRow> rows;
    std::vector<std::string> cells;
    int line = 0;
    int row_line = 1;    ///< where the row being read began
    bool in_row = false; ///< a quoted line end was met
};

void take_cell(void* bytes, std::size_t size, void* to) {
    const char* text = static_cast<const char*>(bytes);
    static_cast<Collector*>(to)->cells.emplace_back(text ? std::string(text, size) : std::string());
}

void take_row(int, void* to) {
    auto& collector = *static_cast<Collector*>(to);
    collector.rows.push_back({collector.row_line, std::move(collector.cells)});
    collector.cells.clear();
    collector.in_row = false;
}

/// One past the end of the line that starts at `from`: LF, CRLF or CR.
std::size_t line_end(std::string_view bytes, std::size_t from) {
    const std::size_t end = bytes.find_first_of("\r\n", from);
    if (end == std::string_view::npos) return bytes.size();
    return bytes[end] == '\r' && end + 1 < bytes.size() && bytes[end + 1] == '\n' ? end + 2
                                                                                  : end + 1;
}

bool is_blank(std::string_view line) {
    return line.find_first_not_of(" \t\r\n") == std::string_view::npos;
}

/// libcsv's parser, freed whatever happens.
struct Parser {
    csv_parser parser{};
    explicit Parser(const std::string& file) {
        if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
            throw_input(file, "", "no memory to read it", "");
    }
    ~Parser() { csv_free(&parser); }
    Parser(const Parser&) = delete;
    Parser& operator=(const Parser&) = delete;
};

std::vector<CsvRow> parse(const std::string& file, const std::string& bytes) {
    Parser parser(file);
    Collector collector;
    const auto fault = [&] {
        throw_input(file, fmt::format("line {}", collector.row_line),
                    "a quotation mark in the wrong place",
                    "quotes go round a whole cell, and are doubled within it (RFC 4180)");
    };
    for (std::size_t from = 0; from < bytes.size();) {
        const std::size_t end = line_end(bytes, from);
        const std::string_view line = std::string_view(bytes).substr(from, end - from);
        from = end;
        ++collector.line;
        if (!collector.in_row) {
            if (is_blank(line)) continue;
            collector.row_line = collector.line;
        }
        collector.in_row = true;
        if (csv_parse(&parser.parser, line.data(), line.size(), take_cell, take_row, &collector) !=
            line.size())
            fault();
    }
    if (csv_fini(&parser.parser, take_cell, take_row, &collector) != 0) fault();
    return std::move(collector.rows);
}

std::string joined(const std::vector<std::string>& words) {
    return fmt::format("{}", fmt::join(words, ", "));
}

} // namespace

CsvTable::CsvTable(std::string file, const std::vector<std::string>& required)
    : file_(std::move(file)) {
    const std::string bytes = read_whole(file_);
    if (valid_utf8(bytes) != bytes)
        throw_input(file_, "", "not UTF-8 text", "save the table as CSV in UTF-8");
    rows_ = parse(file_, bytes);
    if (rows_.empty())
        throw_input(file_, "line 1", "no header row", "the first line names " + joined(required));
    for (const std::string& cell : rows_.front().cells)
        columns_.push_back(plain_text(cell));
    rows_.erase(rows_.begin());

    std::vector<std::string> missing;
    for (const std::string& name : required) {
        if (!has(name)) missing.push_back(name);
        if (std::count(columns_.begin(), columns_.end(), name) > 1)
            throw_input(file_, "line 1, " + name, "this column is there twice", "keep one of them");
    }
    if (!missing.empty())
        throw_input(file_, "line 1",
                    "the header lacks " + joined(missing) + "; it has " + joined(columns_),
                    "the first line names " + joined(required) + ", in any order");
    for (const CsvRow& row : rows_)
        if (row.cells.size() != columns_.size())
            throw_input(file_, fmt::format("line {}", row.line),
                        fmt::format("{} cells", row.cells.size()),
                        fmt::format("{}, as many as the header has", columns_.size()));
}

std::size_t CsvTable::index_of(std::string_view column) const {
    return static_cast<std::size_t>(std::find(columns_.begin(), columns_.end(), column) -
                                    columns_.begin());
}

bool CsvTable::has(std::string_view column) const {
    return index_of(column) < columns_.size();
}

std::string CsvTable::text(const CsvRow& row, std::string_view column) const {
    const std::size_t index = index_of(column);
    return index < columns_.size() ? plain_text(row.cells[index]) : std::string();
}

double CsvTable::number(const CsvRow& row, std::string_view column) const {
    const std::string cell = text(row, column);
    double value = 0.0;
    const char* end = cell.data() + cell.size();
    const auto read = std::from_chars(cell.data(), end, value, std::chars_format::general);
    if (cell.empty()) fail(row, column, "is empty", "a number");
    if (read.ec != std::errc() || read.ptr != end || !std::isfinite(value))
        fail(row, column, "\"" + cell + "\" is not a number", "a number such as 12.5");
    return value;
}

int CsvTable::whole(const CsvRow& row, std::string_view column) const {
    const std::string cell = text(row, column);
    int value = 0;
    const char* end = cell.data() + cell.size();
    const auto read = std::from_chars(cell.data(), end, value);
    if (read.ec != std::errc() || read.ptr != end)
        fail(row, column, "\"" + cell + "\" is not a whole number", "a whole number such as 3");
    return value;
}

void CsvTable::fail(const CsvRow& row, std::string_view column, const std::string& what,
                    const std::string& mend) const {
    throw_input(file_, fmt::format("line {}, {}", row.line, column), what, mend);
}

} // namespace lull
