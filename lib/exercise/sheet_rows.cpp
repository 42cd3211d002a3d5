// SPDX-License-Identifier: GPL-3.0-or-later
#include "exercise/sheet_rows.hpp"

#include "error.hpp"
#include "exercise/sheet_words.hpp"

#include <csv.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <iterator>

namespace lull {
namespace {

/// A quoted cell may run over this many lines; beyond, its quote was never meant to open one.
constexpr std::size_t longest_cell_lines = 20;

void append_utf8(std::string& text, std::uint32_t code) {
    const auto byte = [&](std::uint32_t value) { text += static_cast<char>(value); };
    if (code < 0x80) {
        byte(code);
    } else if (code < 0x800) {
        byte(0xc0 | (code >> 6));
        byte(0x80 | (code & 0x3f));
    } else if (code < 0x10000) {
        byte(0xe0 | (code >> 12));
        byte(0x80 | ((code >> 6) & 0x3f));
        byte(0x80 | (code & 0x3f));
    } else {
        byte(0xf0 | (code >> 18));
        byte(0x80 | ((code >> 12) & 0x3f));
        byte(0x80 | ((code >> 6) & 0x3f));
        byte(0x80 | (code & 0x3f));
    }
}

std::string from_utf16(std::string_view bytes, bool big_end_first) {
    const auto unit = [&](std::size_t i) {
        const auto a = static_cast<unsigned char>(bytes[i]);
        const auto b = static_cast<unsigned char>(bytes[i + 1]);
        return static_cast<std::uint32_t>(big_end_first ? a << 8 | b : b << 8 | a);
    };
    std::string text;
    for (std::size_t i = 2; i + 1 < bytes.size(); i += 2) {
        std::uint32_t code = unit(i);
        if (code >= 0xd800 && code < 0xdc00 && i + 3 < bytes.size()) {
            code = 0x10000 + ((code - 0xd800) << 10) + ((unit(i + 2) - 0xdc00) & 0x3ff);
            i += 2;
        }
        append_utf8(text, code);
    }
    return text;
}

bool is_utf8(std::string_view bytes) {
    for (std::size_t i = 0; i < bytes.size();) {
        const auto lead = static_cast<unsigned char>(bytes[i]);
        const std::size_t length = lead < 0x80                   ? 1
                                   : lead >= 0xc2 && lead < 0xe0 ? 2
                                   : lead >= 0xe0 && lead < 0xf0 ? 3
                                   : lead >= 0xf0 && lead < 0xf5 ? 4
                                                                 : 0;
        if (length == 0 || i + length > bytes.size()) return false;
        for (std::size_t k = 1; k < length; ++k)
            if ((static_cast<unsigned char>(bytes[i + k]) & 0xc0) != 0x80) return false;
        i += length;
    }
    return true;
}

std::string as_utf8(std::string_view bytes) {
    if (bytes.starts_with("\xff\xfe")) return from_utf16(bytes, false);
    if (bytes.starts_with("\xfe\xff")) return from_utf16(bytes, true);
    if (bytes.starts_with("\xef\xbb\xbf")) bytes.remove_prefix(3);
    if (is_utf8(bytes)) return std::string(bytes);
    std::string text;
    for (const char c : bytes)
        append_utf8(text, static_cast<unsigned char>(c));
    return text;
}

std::vector<std::string_view> lines_of(std::string_view text) {
    std::vector<std::string_view> lines;
    while (!text.empty()) {
        const std::size_t end = text.find_first_of("\r\n");
        lines.push_back(text.substr(0, end));
        if (end == std::string_view::npos) break;
        const bool pair = text.substr(end, 2) == "\r\n";
        text.remove_prefix(end + (pair ? 2 : 1));
    }
    return lines;
}

bool holds_outside_quotes(std::string_view line, char wanted) {
    bool quoted = false;
    for (const char c : line) {
        if (c == '"')
            quoted = !quoted;
        else if (c == wanted && !quoted)
            return true;
    }
    return false;
}

/// The separator of the most lines. A comma is also a decimal sign and part of a sentence, and a
/// semicolon part of a list, so a tie goes to the rarer sign.
char separator_of(const std::vector<std::string_view>& lines) {
    constexpr std::array signs{'\t', ';', ','};
    std::array<int, 3> counts{};
    for (const std::string_view line : lines)
        for (std::size_t s = 0; s < signs.size(); ++s)
            counts[s] += holds_outside_quotes(line, signs[s]) ? 1 : 0;
    // The heading decides when there is one, of words and one sign only: the cells below it hold
    // lists and decimals.
    std::ptrdiff_t most = 0;
    char of_heading = 0;
    for (const std::string_view line : lines) {
        if (line.find_first_of("0123456789") != std::string_view::npos) continue;
        int different = 0;
        char only = 0;
        for (const char sign : signs)
            if (holds_outside_quotes(line, sign)) ++different, only = sign;
        const std::ptrdiff_t times = std::count(line.begin(), line.end(), only);
        if (different == 1 && times > most) most = times, of_heading = only;
    }
    if (of_heading != 0) return of_heading;
    return signs[static_cast<std::size_t>(std::max_element(counts.begin(), counts.end()) -
                                          counts.begin())];
}

/// True when a cell begins with a quote that this text does not close.
bool leaves_quote_open(std::string_view text, char separator) {
    bool quoted = false, at_start = true;
    for (const char c : text) {
        const bool turns = c == '"' && (quoted || at_start);
        if (turns) quoted = !quoted;
        // Just closed counts as a start: a doubled quote opens the cell again.
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
        static_cast<std::vector<std::string>*>(into)->emplace_back(trimmed(text));
    };
    csv_parse(&parser, record.data(), record.size(), keep, nullptr, &cells);
    csv_fini(&parser, keep, nullptr, &cells);
    csv_free(&parser);
    return cells;
}

/// Takes a separator line `sep=;` off the front.
bool take_separator_line(const std::vector<std::string_view>& lines, char& separator) {
    if (lines.empty()) return false;
    const std::string first = lower_case(trimmed(lines[0]));
    if (!first.starts_with("sep=") || first.size() != 5) return false;
    separator = first[4];
    return true;
}

} // namespace

WrittenRows split_written_rows(std::string_view bytes) {
    const std::string text = as_utf8(bytes);
    const std::vector<std::string_view> lines = lines_of(text);
    WrittenRows result;
    std::size_t i = take_separator_line(lines, result.separator) ? 1 : 0;
    if (i == 0) result.separator = separator_of(lines);
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

std::string read_written_file(const std::string& path) {
    errno = 0;
    std::ifstream file(path, std::ios::binary);
    if (!file) throw_input(path, "", std::strerror(errno), "");
    std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    if (file.bad() || (errno != 0 && bytes.empty() && errno == EISDIR))
        throw_input(path, "", std::strerror(errno), "name a file");
    return bytes;
}

} // namespace lull
