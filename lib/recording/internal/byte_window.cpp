// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/byte_window.hpp"

#include <algorithm>
#include <cstring>

namespace lull {

ByteSpan ByteWindow::at(std::int64_t offset, std::size_t count) {
    if (offset < 0 || offset >= size_) return {};
    count = std::min(count, static_cast<std::size_t>(size_ - offset));
    const auto is_held = [&] {
        return offset >= held_at_ &&
               offset + static_cast<std::int64_t>(count) <= held_at_ + std::ssize(held_);
    };
    if (!is_held()) {
        held_at_ = offset;
        held_.resize(std::max(count, static_cast<std::size_t>(step)));
        held_.resize(read_(offset, held_));
    }
    const auto skip = static_cast<std::size_t>(offset - held_at_);
    return ByteSpan(held_).subspan(skip, std::min(count, held_.size() - skip));
}

std::int64_t ByteWindow::find(unsigned char byte, std::int64_t from, std::int64_t end) {
    while (from < end) {
        // Takes what is in memory already, so that a search does not read the same bytes again.
        const std::int64_t held_end = held_at_ + std::ssize(held_);
        const std::int64_t until = from >= held_at_ && from < held_end ? std::min(end, held_end)
                                                                       : std::min(end, from + step);
        const auto bytes = at(from, static_cast<std::size_t>(until - from));
        if (bytes.empty()) return end;
        if (const void* found = std::memchr(bytes.data(), byte, bytes.size()))
            return from + (static_cast<const unsigned char*>(found) - bytes.data());
        from += std::ssize(bytes);
    }
    return end;
}

} // namespace lull
