// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/text.hpp"

#include <cstdint>
#include <vector>

namespace lull {
namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD"; // U+FFFD

/// Length of the well-formed UTF-8 sequence at the start of `text`; 0: none. Unicode Standard,
/// table 3-7: no overlong forms, no surrogates, nothing over U+10FFFF.
std::size_t sequence_length(std::string_view text) {
    const auto byte = [&](std::size_t i) -> unsigned {
        return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
    };
    const auto follows = [&](std::size_t i) { return (byte(i) & 0xC0U) == 0x80U; };
    const unsigned lead = byte(0), second = byte(1);
    if (lead < 0x80) return 1;
    if (lead >= 0xC2 && lead <= 0xDF) return follows(1) ? 2 : 0;
    if (lead >= 0xE0 && lead <= 0xEF) {
        if (lead == 0xE0 && second < 0xA0) return 0;
        if (lead == 0xED && second > 0x9F) return 0;
        return follows(1) && follows(2) ? 3 : 0;
    }
    if (lead >= 0xF0 && lead <= 0xF4) {
        if (lead == 0xF0 && second < 0x90) return 0;
        if (lead == 0xF4 && second > 0x8F) return 0;
        return follows(1) && follows(2) && follows(3) ? 4 : 0;
    }
    return 0;
}

std::string_view entity_of(char character) {
    switch (character) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return {};
    }
}

bool is_forbidden_control(char character) {
    const auto code = static_cast<unsigned char>(character);
    return (code < 0x20 && code != '\t' && code != '\n' && code != '\r') || code == 0x7F;
}

} // namespace

std::string valid_utf8(std::string_view text) {
    std::string valid;
    valid.reserve(text.size());
    for (std::size_t i = 0; i < text.size();) {
        std::size_t end = i;
        while (end < text.size() && static_cast<unsigned char>(text[end]) < 0x80)
            ++end;
        valid += text.substr(i, end - i);
        i = end;
        if (i == text.size()) break;
        const std::size_t length = sequence_length(text.substr(i));
        valid += length ? text.substr(i, length) : replacement;
        i += length ? length : 1;
    }
    return valid;
}

std::string shortened(std::string_view text, std::size_t most) {
    const std::string valid = valid_utf8(text);
    std::vector<std::size_t> begins; // of characters
    for (std::size_t i = 0; i < valid.size(); ++i)
        if ((static_cast<unsigned char>(valid[i]) & 0xC0U) != 0x80U) begins.push_back(i);
    if (begins.size() <= most) return valid;
    const std::size_t tail = (most - 1) / 2, head = most - 1 - tail;
    return valid.substr(0, begins[head]) + "\xE2\x80\xA6" +
           valid.substr(begins[begins.size() - tail]);
}

std::string escape_markup(std::string_view text) {
    std::string escaped;
    escaped.reserve(text.size() + 16);
    const std::string valid = valid_utf8(text);
    std::size_t copied = 0;
    for (std::size_t i = 0; i < valid.size(); ++i) {
        const std::string_view entity =
            is_forbidden_control(valid[i]) ? replacement : entity_of(valid[i]);
        if (entity.empty()) continue;
        escaped.append(valid, copied, i - copied).append(entity);
        copied = i + 1;
    }
    return escaped.append(valid, copied);
}

} // namespace lull
