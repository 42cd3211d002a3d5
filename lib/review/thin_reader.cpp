// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/thin_reader.hpp"

#include <algorithm>

namespace lull {

namespace {

constexpr Frame most_at_once =
    8192; ///< outputs: a long stretch at its full rate would leave the cache

} // namespace

const Block& ThinReader::read(Frame first, Frame count) {
    count = std::max<Frame>(count, 0);
    thin_.first = first;
    thin_.frames = count;
    thin_.channels = channels_;
    thin_.samples.assign(static_cast<std::size_t>(count * channels_), 0.0F);
    for (Frame at = 0; at < count; at += most_at_once)
        read_part(at, std::min(most_at_once, count - at));
    return thin_;
}

/// Fills `count` outputs from the output `at`.
void ThinReader::read_part(Frame at, Frame count) {
    const auto outputs = static_cast<std::size_t>(count);
    const Frame begin = (thin_.first + at) * static_cast<Frame>(thinner_.factor()) -
                        static_cast<Frame>(thinner_.before());
    const auto wanted = static_cast<Frame>(thinner_.wanted(outputs));
    const Frame from = std::max<Frame>(0, begin);
    if (begin + wanted <= from) return;
    const Block& block = full_(from, begin + wanted - from);
    const Frame have = std::min(block.frames, begin + wanted - from);
    for (int c = 0; c < channels_ && have > 0; ++c) {
        const std::span<const float> own = block.channel(c).first(static_cast<std::size_t>(have));
        const std::span<float> out =
            thin_.channel(c).subspan(static_cast<std::size_t>(at), outputs);
        if (have == wanted) {
            thinner_.thin(own, out);
            continue;
        }
        padded_.assign(static_cast<std::size_t>(wanted), 0.0F);
        std::ranges::copy(own, padded_.begin() + (from - begin));
        thinner_.thin(padded_, out);
    }
}

} // namespace lull
