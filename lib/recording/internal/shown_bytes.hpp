// SPDX-License-Identifier: GPL-3.0-or-later
//
// The bytes that a decoder gets to see for those of a file: parts of it left out, or replaced.
#pragma once

#include "conventions.hpp"
#include "recording/header.hpp"

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace lull {

/// Bytes of the file, or others.
struct BytePiece {
    std::int64_t at = 0, count = 0; ///< in the file
    std::string instead;            ///< if not empty: these
};

/// Adds a stretch of the file; one that goes on where the last piece ended becomes one with it.
void add_piece(std::vector<BytePiece>& pieces, std::int64_t at, std::int64_t count);

class ShownBytes {
  public:
    ShownBytes() = default;
    explicit ShownBytes(std::vector<BytePiece> pieces);

    [[nodiscard]] std::int64_t size() const { return starts_.empty() ? 0 : starts_.back(); }
    /// Reads bytes at an offset, those of the file by `file`; returns how many there were.
    std::size_t read(const ReadAt& file, std::int64_t offset, std::span<unsigned char> into) const;

  private:
    std::vector<BytePiece> pieces_;
    std::vector<std::int64_t> starts_; ///< of each piece, and the end
};

} // namespace lull
