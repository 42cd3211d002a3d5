// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"
#include "report/csv.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>

namespace lull {
namespace {

constexpr std::size_t piece_bytes = 2U << 20U;

/// One past the last line end that lies in no quoted cell; 0: none.
std::size_t end_of_rows(std::string_view text) {
    bool quoted = false;
    std::size_t end = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '"') quoted = !quoted; // doubled within a cell: twice
        if (text[i] == '\n' && !quoted) end = i + 1;
    }
    return end;
}

/// One past the end of the first row that is no statement of the separator; 0: none ends here.
std::size_t end_of_header(std::string_view text) {
    const std::size_t from = text.starts_with("sep=") ? text.find('\n') : std::string_view::npos;
    bool quoted = false;
    for (std::size_t i = from + 1; i < text.size(); ++i) {
        if (text[i] == '"') quoted = !quoted;
        if (text[i] == '\n' && !quoted) return i + 1;
    }
    return 0;
}

int line_count(std::string_view text) {
    return static_cast<int>(std::ranges::count(text, '\n'));
}

} // namespace

void in_csv_pieces(const std::string& file, const std::vector<std::string>& required,
                   const std::function<void(const CsvTable&)>& take) {
    errno = 0;
    std::ifstream stream(file, std::ios::binary);
    std::string text, header;
    int lines = 0; // taken so far, the header among them
    bool whole = false;
    while (!whole) {
        const std::size_t before = text.size();
        text.resize(before + piece_bytes);
        stream.read(text.data() + before, static_cast<std::streamsize>(piece_bytes));
        text.resize(before + static_cast<std::size_t>(stream.gcount()));
        if (!stream.is_open() || stream.bad())
            throw_input(file, "", std::strerror(errno), "name a CSV file that can be read");
        whole = stream.eof();
        if (header.empty() && !whole) {
            header = text.substr(0, end_of_header(text));
            lines = line_count(header);
            text.erase(0, header.size());
        }
        const std::size_t end = whole ? text.size() : header.empty() ? 0 : end_of_rows(text);
        if (end == 0 && !(whole && header.empty())) continue;
        const std::string_view rows = std::string_view(text).substr(0, end);
        take(CsvTable(file, header + std::string(rows), required, lines - line_count(header)));
        lines += line_count(rows);
        text.erase(0, end);
    }
}

} // namespace lull
