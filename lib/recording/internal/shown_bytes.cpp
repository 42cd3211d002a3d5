// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/shown_bytes.hpp"

#include <algorithm>
#include <cstring>

namespace lull {

void add_piece(std::vector<BytePiece>& pieces, std::int64_t at, std::int64_t count) {
    if (count <= 0) return;
    if (!pieces.empty() && pieces.back().instead.empty() &&
        pieces.back().at + pieces.back().count == at)
        pieces.back().count += count;
    else
        pieces.push_back({at, count, {}});
}

ShownBytes::ShownBytes(std::vector<BytePiece> pieces) : pieces_(std::move(pieces)) {
    std::int64_t at = 0;
    for (const BytePiece& piece : pieces_) {
        starts_.push_back(at);
        at += piece.instead.empty() ? piece.count : std::ssize(piece.instead);
    }
    starts_.push_back(at);
}

std::size_t ShownBytes::read(const ReadAt& file, std::int64_t offset,
                             std::span<unsigned char> into) const {
    std::size_t done = 0;
    if (offset < 0 || offset >= size()) return 0;
    auto index =
        static_cast<std::size_t>(std::ranges::upper_bound(starts_, offset) - starts_.begin() - 1);
    for (; done < into.size() && index < pieces_.size(); ++index) {
        const BytePiece& piece = pieces_[index];
        const std::int64_t within = offset + static_cast<std::int64_t>(done) - starts_[index];
        const auto count =
            std::min(into.size() - done,
                     static_cast<std::size_t>(starts_[index + 1] - starts_[index] - within));
        const std::span<unsigned char> part = into.subspan(done, count);
        if (piece.instead.empty()) {
            const std::size_t got = file(piece.at + within, part);
            done += got;
            if (got < count) break;
        } else {
            std::memcpy(part.data(), piece.instead.data() + within, count);
            done += count;
        }
    }
    return done;
}

} // namespace lull
