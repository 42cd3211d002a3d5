// SPDX-License-Identifier: GPL-3.0-or-later
//
// Random access to a file's bytes, read in large blocks.
#pragma once

#include "recording/header.hpp"

#include <cstdint>
#include <span>
#include <vector>

namespace lull {

using ByteSpan = std::span<const unsigned char>;

class ByteWindow {
  public:
    /// \param bytes  size of the file
    ByteWindow(ReadAt read, std::int64_t bytes) : read_(std::move(read)), size_(bytes) {}

    [[nodiscard]] std::int64_t size() const { return size_; }

    /// The bytes from an offset on; fewer than `count` only at the end of the file. Valid until the
    /// next call.
    [[nodiscard]] ByteSpan at(std::int64_t offset, std::size_t count);

    /// Adds the bytes of [begin, end) to a checksum. False if the file ends before.
    template <class Check>
    bool add_to(Check& check, std::int64_t begin, std::int64_t end) {
        while (begin < end) {
            const auto bytes = at(begin, static_cast<std::size_t>(std::min(end - begin, step)));
            if (bytes.empty()) return false;
            check.add(bytes);
            begin += std::ssize(bytes);
        }
        return true;
    }

    /// The first offset of `byte` in [from, end); `end` if there is none.
    [[nodiscard]] std::int64_t find(unsigned char byte, std::int64_t from, std::int64_t end);

  private:
    static constexpr std::int64_t step = 1 << 18;

    ReadAt read_;
    std::int64_t size_;
    std::vector<unsigned char> held_;
    std::int64_t held_at_ = 0;
};

} // namespace lull
