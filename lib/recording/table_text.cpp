// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/table_text.hpp"

#include "error.hpp"
#include "recording/written_text.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>

namespace lull {
namespace {

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

struct Form {
    std::string_view begins; ///< first bytes
    const char* name;
};

/// Formats that people mistake for a table.
constexpr Form forms[] = {{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an office document (.xls, .doc)"},
                          {"%PDF", "a PDF document"},
                          {"{\\rtf", "a text document (.rtf)"},
                          {"<!doctype", "a web page or XML document"},
                          {"<html", "a web page or XML document"},
                          {"<?xml", "a web page or XML document"},
                          {"\x89PNG", "a picture"},
                          {"\xff\xd8\xff", "a picture"},
                          {"GIF8", "a picture"},
                          {"RIFF", "a recording"},
                          {"fLaC", "a recording"},
                          {"OggS", "a recording"},
                          {"\x1f\x8b", "a compressed file"}};

/// The names of an archive's entries identify its format.
const char* archive_form(std::string_view bytes) {
    const auto holds = [&](std::string_view name) {
        return bytes.find(name) != std::string_view::npos;
    };
    if (holds("xl/workbook") || holds("xl/worksheets")) return "a spreadsheet (.xlsx)";
    if (holds("opendocument.spreadsheet")) return "a spreadsheet (.ods)";
    if (holds("Index/Tables") || holds("Index/Document")) return "a spreadsheet or document";
    if (holds("word/document") || holds("opendocument.text"))
        return "a text document (.docx, .odt)";
    return "an archive (.zip)";
}

/// Name of the format when the bytes are no text; null for text.
const char* form_of(std::string_view bytes) {
    if (bytes.starts_with("PK\x03\x04")) return archive_form(bytes);
    if (bytes.starts_with("\xff\xfe") || bytes.starts_with("\xfe\xff")) return nullptr; // UTF-16
    std::string_view inside = bytes;
    if (inside.starts_with("\xef\xbb\xbf")) inside.remove_prefix(3);
    inside = trimmed(inside.substr(0, 1000));
    for (const Form& form : forms)
        if (lower_case(inside.substr(0, form.begins.size())) == lower_case(form.begins))
            return form.name;
    return bytes.find('\0') != std::string_view::npos ? "not text" : nullptr;
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

/// The separator that most lines have. A comma is also a decimal sign and part of sentences, and a
/// semicolon part of lists, so on a tie the rarer sign wins.
char likely_separator(const std::vector<std::string_view>& lines) {
    constexpr std::array signs{'\t', ';', ','};
    std::array<int, 3> counts{};
    for (const std::string_view line : lines)
        for (std::size_t s = 0; s < signs.size(); ++s)
            counts[s] += holds_outside_quotes(line, signs[s]) ? 1 : 0;
    // A heading of words with one sign decides if there is one, since the cells below it hold lists
    // and decimals.
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

} // namespace

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

Separator separator_of(const std::vector<std::string_view>& lines) {
    if (lines.empty()) return {};
    const std::string first = lower_case(trimmed(lines[0]));
    if (first.starts_with("sep=") && first.size() == 5) return {first[4], true};
    return {likely_separator(lines), false};
}

std::string table_text(std::string_view bytes, const std::string& file) {
    if (const char* form = form_of(bytes))
        throw_input(file, "", std::string("is ") + form + ", and a table is needed",
                    "open it in a spreadsheet and save it as CSV");
    return as_utf8(bytes);
}

std::string read_table_bytes(const std::string& file) {
    std::error_code ignored;
    if (std::filesystem::is_directory(file, ignored))
        throw_input(file, "", "is a folder", "name a CSV file");
    errno = 0;
    std::ifstream stream(file, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(stream), {}};
    if (!stream.is_open() || stream.bad())
        throw_input(file, "", std::strerror(errno), "name a CSV file that can be read");
    return bytes;
}

} // namespace lull
