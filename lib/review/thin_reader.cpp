// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/thin_reader.hpp"

#include <algorithm>

namespace lull {

const Block& ThinReader::read(Frame first, Frame count) {
    const auto outputs = static_cast<std::size_t>(std::max<Frame>(count, 0));
    const Frame begin =
        first * static_cast<Frame>(thinner_.factor()) - static_cast<Frame>(thinner_.before());
    const auto wanted = static_cast<Frame>(thinner_.wanted(outputs));
    thin_.first = first;
    thin_.frames = count;
    thin_.channels = channels_;
    thin_.samples.assign(outputs * static_cast<std::size_t>(channels_), 0.0F);
    const Frame from = std::max<Frame>(0, begin);
    if (begin + wanted <= from) return thin_;
    const Block& block = full_(from, begin + wanted - from);
    const Frame have = std::min(block.frames, begin + wanted - from);
    for (int c = 0; c < channels_ && have > 0; ++c) {
        const std::span<const float> own = block.channel(c).first(static_cast<std::size_t>(have));
        const std::span<float> out = thin_.channel(c);
        if (have == wanted) {
            thinner_.thin(own, out);
            continue;
        }
        padded_.assign(static_cast<std::size_t>(wanted), 0.0F);
        std::ranges::copy(own, padded_.begin() + (from - begin));
        thinner_.thin(padded_, out);
    }
    return thin_;
}

} // namespace lull
