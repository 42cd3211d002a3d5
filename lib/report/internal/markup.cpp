// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/markup.hpp"

#include "report/csv.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace lull {

std::string element(std::string_view name, std::string_view text) {
    return fmt::format("<{0}>{1}</{0}>\n", name, escape_markup(text));
}

std::string section_begin(std::string_view id, std::string_view heading) {
    return fmt::format("<section id=\"{}\"><h2>{}</h2>\n", escape_markup(id),
                       escape_markup(heading));
}

std::string section(std::string_view id, std::string_view heading, const std::string& body) {
    return section_begin(id, heading).append(body).append(section_end);
}

std::string wide_box(const std::string& inner, std::string_view what) {
    std::string html =
        fmt::format("<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"{}\">",
                    escape_markup(what));
    constexpr std::string_view end = "</div>\n";
    html.reserve(html.size() + inner.size() + end.size());
    return html.append(inner).append(end);
}

std::string for_later(const std::string& inner) {
    constexpr std::string_view begin = "<noscript>", end = "</noscript>";
    std::string html;
    html.reserve(begin.size() + inner.size() + end.size());
    return html.append(begin).append(inner).append(end);
}

std::string html_table(const std::vector<std::string>& heads, const std::string& rows,
                       std::string_view what) {
    std::string html = "<table><thead><tr>";
    for (const std::string& head : heads)
        html += "<th scope=\"col\">" + escape_markup(head) + "</th>";
    return wide_box(html + "</tr></thead><tbody>\n" + rows + "</tbody></table>", what);
}

std::string html_table(const std::vector<std::string>& heads,
                       const std::vector<std::vector<std::string>>& rows, std::string_view what) {
    std::string html;
    for (const auto& row : rows) {
        html += "<tr>";
        for (const std::string& cell : row)
            html += "<td>" + escape_markup(cell) + "</td>";
        html += "</tr>\n";
    }
    return html_table(heads, html, what);
}

namespace {

/// A cell as the language says it; names and figures stay.
std::string in_words(std::string_view column, const std::string& text, const Language& say) {
    constexpr std::array values = {"kind", "fitness"};
    constexpr std::array phrases = {"why",    "finding", "unit",      "level_unit",
                                    "effect", "remedy",  "known_from"};
    if (std::ranges::find(values, column) != values.end()) return say.value(text);
    return std::ranges::find(phrases, column) != phrases.end() ? say.phrase(text) : text;
}

} // namespace

std::string html_table(const Table& table, std::size_t most, const Language& language,
                       std::string_view what) {
    std::vector<std::string> heads;
    for (const Column& column : table.columns)
        heads.push_back(language.column(column.name));
    std::vector<std::vector<std::string>> rows;
    for (const auto& row : table.rows) {
        if (rows.size() == most) break;
        rows.emplace_back();
        for (std::size_t c = 0; c < row.size(); ++c) {
            const std::string text = cell_text(row[c], table.columns[c].decimals);
            rows.back().push_back(in_words(table.columns[c].name, text, language));
        }
    }
    std::string html = html_table(heads, rows, what);
    if (table.rows.size() > most)
        html += element(
            "p", language.filled("more_rows", {{"count", std::to_string(table.rows.size() - most)},
                                               {"file", table.name + ".csv"}}));
    return html;
}

std::string cell_text(const Cell& cell, int decimals) {
    if (const auto* number = std::get_if<double>(&cell)) return number_text(*number, decimals);
    if (const auto* whole = std::get_if<std::int64_t>(&cell)) return fmt::format("{}", *whole);
    if (const auto* text = std::get_if<std::string>(&cell)) return *text;
    return {};
}

} // namespace lull
