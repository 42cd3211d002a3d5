// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/take_spool.hpp"

#include "error.hpp"
#include "recording/internal/spool.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

namespace lull {

Frame decode(SNDFILE* file, int tracks, const Sink& sink) {
    // libsndfile converts 2048 samples at a time. It misreads PARIS 24-bit where that, or a read,
    // ends within one of its blocks of 10 frames.
    const sf_count_t step = 2048 / tracks / 10 * 10;
    std::vector<float> buffer(static_cast<std::size_t>(tracks * step));
    Frame counted = 0;
    for (sf_count_t got = 0; (got = sf_readf_float(file, buffer.data(), step)) > 0; counted += got)
        sink({buffer.data(), static_cast<std::size_t>(got * tracks)});
    return counted;
}

void TakeSpool::add(int tracks, std::span<const float> interleaved) {
    const Frame count = std::ssize(interleaved) / tracks;
    for (const Take::Use& use : take_->uses) {
        const Frame first = std::max(decoded_, use.from),
                    end = std::min(decoded_ + count, use.from + use.to.frames);
        if (first >= end) continue;
        const auto part = interleaved.subspan(static_cast<std::size_t>((first - decoded_) * tracks),
                                              static_cast<std::size_t>((end - first) * tracks));
        const auto frame_bytes = static_cast<std::int64_t>(sizeof(float)) * tracks;
        put(*into_, (use.to.first + first - use.from) * frame_bytes,
            {reinterpret_cast<const char*>(part.data()), part.size_bytes()});
    }
    decoded_ += count;
}
void TakeSpool::check(const std::string& path) const {
    if (decoded_ < take_->frames)
        throw_input(path, "",
                    fmt::format("decodes to {} frames where its own numbers say {}", decoded_,
                                take_->frames),
                    "give it as WAV or FLAC");
}

} // namespace lull
