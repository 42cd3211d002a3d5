// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/written_text.hpp"

#include <charconv>
#include <cmath>

namespace lull {
namespace {

bool starts_formula(std::string_view text) {
    const std::size_t first = text.find_first_not_of('\'');
    return first != std::string_view::npos &&
           std::string_view("=+-@\t\r").find(text[first]) != std::string_view::npos;
}

} // namespace

std::string_view trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n\f\v");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r\n\f\v") - first + 1);
}

std::string lower_case(std::string_view text) {
    std::string small(text);
    for (char& c : small)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return small;
}

std::optional<double> parse_written_number(std::string_view text) {
    std::string plain(trimmed(text));
    for (char& c : plain)
        if (c == ',') c = '.';
    const char* first = plain.data();
    const char* last = first + plain.size();
    if (first != last && *first == '+') ++first;
    double value = 0.0;
    const auto [end, fault] = std::from_chars(first, last, value, std::chars_format::fixed);
    if (fault != std::errc() || end != last || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::string neutral_text(std::string_view text) {
    return starts_formula(text) ? "'" + std::string(text) : std::string(text);
}

std::string plain_text(std::string_view text) {
    const bool neutralised = !text.empty() && text.front() == '\'' && starts_formula(text);
    return std::string(neutralised ? text.substr(1) : text);
}

} // namespace lull
