// SPDX-License-Identifier: GPL-3.0-or-later
//
// A file's bytes as a decoder gets them: with parts left out or replaced.
#pragma once

#include "conventions.hpp"
#include "recording/header.hpp"

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace lull {

/// A part of the file, or other bytes.
struct BytePiece {
    std::int64_t at = 0, count = 0; ///< offset and length in the file
    std::string instead;            ///< if not empty: these bytes replace it
};

/// Adds a part of the file. A part that begins where the last one ends is joined to it.
void add_piece(std::vector<BytePiece>& pieces, std::int64_t at, std::int64_t count);

class ShownBytes {
  public:
    ShownBytes() = default;
    explicit ShownBytes(std::vector<BytePiece> pieces);

    [[nodiscard]] std::int64_t size() const { return starts_.empty() ? 0 : starts_.back(); }
    /// Reads bytes at an offset, those of the file by `file`; returns the number of bytes read.
    std::size_t read(const ReadAt& file, std::int64_t offset, std::span<unsigned char> into) const;

  private:
    std::vector<BytePiece> pieces_;
    std::vector<std::int64_t> starts_; ///< of each piece, and the end
};

} // namespace lull
