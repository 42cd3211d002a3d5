// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/miniseed.hpp"

#include <algorithm>
#include <utility>

namespace lull {

MiniseedReader::MiniseedReader(const FileSource& source, std::shared_ptr<const MiniseedIndex> index)
    : source_(&source), index_(std::move(index)), held_(index_->tracks.size()) {}

bool MiniseedReader::hold(const MiniseedSegment& segment, Held& held) {
    if (held.at == segment.at) return true;
    bytes_.resize(static_cast<std::size_t>(segment.bytes));
    held.at = -1;
    if (source_->read_at(segment.at, bytes_.data(), bytes_.size()) != bytes_.size() ||
        !record_.decode(bytes_))
        return false;
    held.samples = record_.samples();
    if (std::ssize(held.samples) < segment.skipped + segment.frames.frames) return false;
    held.at = segment.at;
    return true;
}

std::optional<Frame> MiniseedReader::read(Frame first, Frame count,
                                          std::span<const TrackTarget> targets) {
    const Frame end = first + count;
    for (const TrackTarget& target : targets) {
        const auto track = static_cast<std::size_t>(target.track);
        const std::vector<MiniseedSegment>& segments = index_->tracks[track].segments;
        std::fill_n(target.samples, count, 0.0F);
        auto segment = std::ranges::upper_bound(
            segments, first, {}, [](const MiniseedSegment& one) { return one.frames.end(); });
        for (; segment != segments.end() && segment->frames.first < end; ++segment) {
            if (!hold(*segment, held_[track])) return segment->frames.first;
            const Frame from = std::max(first, segment->frames.first),
                        until = std::min(end, segment->frames.end());
            const float* samples =
                held_[track].samples.data() + segment->skipped + (from - segment->frames.first);
            for (Frame n = 0; n < until - from; ++n)
                target.samples[from - first + n] = target.sign * samples[n];
        }
    }
    return std::nullopt;
}

} // namespace lull
