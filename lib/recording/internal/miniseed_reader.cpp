// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/miniseed.hpp"

#include <algorithm>
#include <utility>

namespace lull {

MiniseedReader::MiniseedReader(const FileSource& source, std::shared_ptr<const MiniseedIndex> index)
    : source_(&source), index_(std::move(index)), held_(index_->tracks.size()) {}

bool MiniseedReader::hold(const MiniseedPiece& piece, Held& held) {
    if (held.at == piece.at) return true;
    bytes_.resize(static_cast<std::size_t>(piece.bytes));
    held.at = -1;
    if (source_->read_at(piece.at, bytes_.data(), bytes_.size()) != bytes_.size() ||
        !record_.decode(bytes_))
        return false;
    held.samples = record_.samples();
    if (std::ssize(held.samples) < piece.skipped + piece.frames.frames) return false;
    held.at = piece.at;
    return true;
}

std::optional<Frame> MiniseedReader::read(Frame first, Frame count,
                                          std::span<const TrackTarget> targets) {
    const Frame end = first + count;
    for (const TrackTarget& target : targets) {
        const auto track = static_cast<std::size_t>(target.track);
        const std::vector<MiniseedPiece>& pieces = index_->tracks[track].pieces;
        std::fill_n(target.samples, count, 0.0F);
        auto piece = std::ranges::upper_bound(
            pieces, first, {}, [](const MiniseedPiece& one) { return one.frames.end(); });
        for (; piece != pieces.end() && piece->frames.first < end; ++piece) {
            if (!hold(*piece, held_[track])) return piece->frames.first;
            const Frame from = std::max(first, piece->frames.first),
                        until = std::min(end, piece->frames.end());
            const float* samples =
                held_[track].samples.data() + piece->skipped + (from - piece->frames.first);
            for (Frame n = 0; n < until - from; ++n)
                target.samples[from - first + n] = target.sign * samples[n];
        }
    }
    return std::nullopt;
}

} // namespace lull
