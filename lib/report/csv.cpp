// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/csv.hpp"

#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <cmath>

namespace lull {
namespace {

void append_text(std::string& csv, std::string_view text) {
    const std::string cell = neutral_text(valid_utf8(text));
    const bool blank_edge = !cell.empty() && (cell.front() == ' ' || cell.back() == ' ' ||
                                              cell.front() == '\t' || cell.back() == '\t');
    if (!blank_edge && cell.find_first_of(",\"\r\n") == std::string::npos) {
        csv += cell;
        return;
    }
    csv += '"';
    for (const char character : cell) {
        if (character == '"') csv += '"';
        csv += character;
    }
    csv += '"';
}

void append_cell(std::string& csv, const Cell& cell, const Column& column) {
    if (const auto* number = std::get_if<double>(&cell))
        csv += number_text(*number, column.decimals);
    else if (const auto* whole = std::get_if<std::int64_t>(&cell))
        fmt::format_to(std::back_inserter(csv), "{}", *whole);
    else if (const auto* text = std::get_if<std::string>(&cell))
        append_text(csv, *text);
}

} // namespace

std::string number_text(double value, int decimals) {
    if (!std::isfinite(value)) return {};
    std::string text = fmt::format("{:.{}f}", value, decimals < 0 ? 6 : decimals);
    if (text.front() == '-' && text.find_first_of("123456789") == std::string::npos)
        text.erase(0, 1);
    return text;
}

std::string to_csv(const Table& table) {
    std::string csv;
    for (std::size_t c = 0; c < table.columns.size(); ++c) {
        if (c) csv += ',';
        append_text(csv, table.columns[c].name);
    }
    csv += "\r\n";
    return csv + csv_rows(table);
}

std::string csv_rows(const Table& table) {
    std::string csv;
    for (const auto& row : table.rows) {
        for (std::size_t c = 0; c < row.size(); ++c) {
            if (c) csv += ',';
            append_cell(csv, row[c], table.columns[c]);
        }
        csv += "\r\n";
    }
    return csv;
}

} // namespace lull
