// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pieces of HTML; whatever text goes in is escaped.
#pragma once

#include "report/table.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace lull {

[[nodiscard]] std::string element(std::string_view name, std::string_view text);
[[nodiscard]] std::string section(std::string_view id, std::string_view heading,
                                  const std::string& body);
/// A table element; heads and cells are text.
[[nodiscard]] std::string html_table(const std::vector<std::string>& heads,
                                     const std::vector<std::vector<std::string>>& rows);
/// The table as the CSV shows it, at most `most` rows, and where the others are.
[[nodiscard]] std::string html_table(const Table& table, std::size_t most);
[[nodiscard]] std::string cell_text(const Cell& cell, int decimals);

} // namespace lull
