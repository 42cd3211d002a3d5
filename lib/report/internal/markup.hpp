// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pieces of HTML; whatever text goes in is escaped.
#pragma once

#include "report/language.hpp"
#include "report/table.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace lull {

[[nodiscard]] std::string element(std::string_view name, std::string_view text);
/// What begins a section, its body to follow.
[[nodiscard]] std::string section_begin(std::string_view id, std::string_view heading);
inline constexpr std::string_view section_end = "</section>\n";
[[nodiscard]] std::string section(std::string_view id, std::string_view heading,
                                  const std::string& body);
/// Something that may be wider than the screen, in a box that scrolls, by keyboard too.
/// \param what  what it holds, for those who hear the page read
[[nodiscard]] std::string wide_box(const std::string& inner, std::string_view what);
/// What the page's script makes only when it comes near (lib/report/page/later.js). A browser
/// without the script shows it; one with it holds it as text, which costs next to nothing.
[[nodiscard]] std::string for_later(const std::string& inner);
/// A table element; heads and cells are text. \param rows  as text, or as markup of <tr>
[[nodiscard]] std::string html_table(const std::vector<std::string>& heads,
                                     const std::vector<std::vector<std::string>>& rows,
                                     std::string_view what);
[[nodiscard]] std::string html_table(const std::vector<std::string>& heads, const std::string& rows,
                                     std::string_view what);
/// The table as the CSV shows it, at most `most` rows, and where the others are.
[[nodiscard]] std::string html_table(const Table& table, std::size_t most, const Language& language,
                                     std::string_view what);
[[nodiscard]] std::string cell_text(const Cell& cell, int decimals);

} // namespace lull
