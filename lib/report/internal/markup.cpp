// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/markup.hpp"

#include "picture/text.hpp"
#include "report/csv.hpp"
#include "report/language_en.hpp"

#include <fmt/format.h>

namespace lull {

std::string element(std::string_view name, std::string_view text) {
    return fmt::format("<{0}>{1}</{0}>\n", name, escape_markup(text));
}

std::string section(std::string_view id, std::string_view heading, const std::string& body) {
    return fmt::format("<section id=\"{}\"><h2>{}</h2>\n{}</section>\n", escape_markup(id),
                       escape_markup(heading), body);
}

std::string html_table(const std::vector<std::string>& heads,
                       const std::vector<std::vector<std::string>>& rows) {
    std::string html = "<div class=\"wide\"><table><thead><tr>";
    for (const std::string& head : heads)
        html += "<th scope=\"col\">" + escape_markup(head) + "</th>";
    html += "</tr></thead><tbody>\n";
    for (const auto& row : rows) {
        html += "<tr>";
        for (const std::string& cell : row)
            html += "<td>" + escape_markup(cell) + "</td>";
        html += "</tr>\n";
    }
    return html + "</tbody></table></div>\n";
}

std::string html_table(const Table& table, std::size_t most) {
    std::vector<std::string> heads;
    for (const Column& column : table.columns)
        heads.push_back(column.name);
    std::vector<std::vector<std::string>> rows;
    for (const auto& row : table.rows) {
        if (rows.size() == most) break;
        rows.emplace_back();
        for (std::size_t c = 0; c < row.size(); ++c)
            rows.back().push_back(cell_text(row[c], table.columns[c].decimals));
    }
    std::string html = html_table(heads, rows);
    if (table.rows.size() > most)
        html += element("p", fmt::format("{} {} {}.csv", table.rows.size() - most,
                                         language::more_rows, table.name));
    return html;
}

std::string cell_text(const Cell& cell, int decimals) {
    if (const auto* number = std::get_if<double>(&cell)) return number_text(*number, decimals);
    if (const auto* whole = std::get_if<std::int64_t>(&cell)) return fmt::format("{}", *whole);
    if (const auto* text = std::get_if<std::string>(&cell)) return *text;
    return {};
}

} // namespace lull
