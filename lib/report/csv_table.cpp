// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/csv.hpp"

#include "error.hpp"
#include "recording/table_text.hpp"

#include <csv.h>
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

namespace lull {
namespace {

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

bool is_blank(std::string_view line) {
    return line.find_first_not_of(" \t\r\n") == std::string_view::npos;
}

/// libcsv's parser, freed whatever happens.
struct Parser {
    csv_parser parser{};
    Parser(const std::string& file, char separator) {
        if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
            throw_input(file, "", "no memory to read it", "");
        csv_set_delim(&parser, static_cast<unsigned char>(separator));
    }
    ~Parser() { csv_free(&parser); }
    Parser(const Parser&) = delete;
    Parser& operator=(const Parser&) = delete;
};

std::vector<CsvRow> parse(const std::string& file, std::string_view text,
                          const std::vector<std::string_view>& lines, const Separator& separator,
                          int lines_before) {
    Parser parser(file, separator.sign);
    Collector collector;
    const auto fault = [&] {
        const int line = collector.row_line + (collector.rows.empty() ? 0 : lines_before);
        throw_input(file, fmt::format("line {}", line), "a quotation mark in the wrong place",
                    "quotes go round a whole cell, and are doubled within it (RFC 4180)");
    };
    for (std::size_t i = separator.stated ? 1 : 0; i < lines.size(); ++i) {
        collector.line = static_cast<int>(i) + 1;
        if (!collector.in_row) {
            if (is_blank(lines[i])) continue;
            collector.row_line = collector.line;
        }
        collector.in_row = true;
        // With its own end, which may be part of a quoted cell.
        const char* end = i + 1 < lines.size() ? lines[i + 1].data() : text.data() + text.size();
        const auto size = static_cast<std::size_t>(end - lines[i].data());
        if (csv_parse(&parser.parser, lines[i].data(), size, take_cell, take_row, &collector) !=
            size)
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
    : CsvTable(file, read_table_bytes(file), required) {}

CsvTable::CsvTable(std::string file, std::string bytes, const std::vector<std::string>& required,
                   int lines_before)
    : file_(std::move(file)) {
    const std::string text = table_text(bytes, file_);
    const std::vector<std::string_view> lines = lines_of(text);
    const Separator separator = separator_of(lines);
    separator_ = separator.sign;
    rows_ = parse(file_, text, lines, separator, lines_before);
    if (rows_.empty())
        throw_input(file_, "line 1", "no header row", "the first line names " + joined(required));
    for (const std::string& cell : rows_.front().cells)
        columns_.push_back(plain_text(cell));
    rows_.erase(rows_.begin());
    for (CsvRow& row : rows_)
        row.line += lines_before;

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
    const std::string written = text(row, column);
    std::string cell = written;
    if (separator_ != ',') std::ranges::replace(cell, ',', '.');
    double value = 0.0;
    const char* end = cell.data() + cell.size();
    const auto read = std::from_chars(cell.data(), end, value, std::chars_format::general);
    if (cell.empty()) fail(row, column, "is empty", "a number");
    if (read.ec != std::errc() || read.ptr != end || !std::isfinite(value))
        fail(row, column, "\"" + written + "\" is not a number", "a number such as 12.5");
    return value;
}

double CsvTable::time(const CsvRow& row, std::string_view column, const StartTime& start) const {
    const std::string cell = text(row, column);
    if (cell.empty()) fail(row, column, "is empty", "a time");
    try {
        return parse_time(cell, start);
    } catch (const Error& error) {
        fail(row, column, error.fault, error.mend);
    }
}

std::optional<double> CsvTable::snr(const CsvRow& row, std::string_view column) const {
    const std::string cell = text(row, column);
    if (cell.empty()) return std::nullopt;
    return cell == infinite_text ? std::numeric_limits<double>::infinity() : number(row, column);
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
