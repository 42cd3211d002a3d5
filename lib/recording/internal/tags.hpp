// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tags that some programs put before and after compressed sound.
#pragma once

#include "recording/internal/byte_window.hpp"

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <span>
#include <string_view>

namespace lull {

[[nodiscard]] inline bool begins_with(ByteSpan bytes, std::string_view text) {
    return bytes.size() >= text.size() && std::memcmp(bytes.data(), text.data(), text.size()) == 0;
}

/// Bytes of the ID3v2 tags at the start of the file.
[[nodiscard]] inline std::int64_t leading_tag_bytes(ByteWindow& file) {
    std::int64_t at = 0;
    for (;;) {
        const auto head = file.at(at, 10);
        if (head.size() < 10 || !begins_with(head, "ID3")) return at;
        std::int64_t bytes = 0;
        for (std::size_t i = 6; i < 10; ++i)
            bytes = bytes << 7U | (head[i] & 0x7FU);
        at += bytes + ((head[5] & 0x10U) != 0 ? 20 : 10);
    }
}

/// Bytes of the ID3v1 and APE tags at the end.
[[nodiscard]] inline std::int64_t trailing_tag_bytes(ByteWindow& file) {
    constexpr std::int64_t tag_bytes = 128, foot_bytes = 32;
    std::int64_t bytes = begins_with(file.at(file.size() - tag_bytes, 3), "TAG") ? tag_bytes : 0;
    const auto foot =
        file.at(file.size() - bytes - foot_bytes, static_cast<std::size_t>(foot_bytes));
    if (std::ssize(foot) < foot_bytes || !begins_with(foot, "APETAGEX")) return bytes;
    const std::int64_t ape_bytes =
        foot[12] | foot[13] << 8U | foot[14] << 16U | std::int64_t{foot[15]} << 24U;
    const bool has_head = (foot[23] & 0x80U) != 0;
    bytes += ape_bytes + (has_head ? foot_bytes : 0);
    return std::min(bytes, file.size());
}

} // namespace lull
