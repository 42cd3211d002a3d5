// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/thin_reader.hpp"

#include <algorithm>

namespace lull {

const Block& ThinReader::read(Frame first, Frame count) {
    const auto outputs = static_cast<std::size_t>(std::max<Frame>(count, 0));
    const auto factor = static_cast<Frame>(thinner_.factor());
    const Frame begin = first * factor - static_cast<Frame>(thinner_.before());
    const Frame end = begin + static_cast<Frame>(thinner_.wanted(outputs));
    thin_.first = first;
    thin_.frames = count;
    thin_.channels = channels_;
    thin_.samples.assign(outputs * static_cast<std::size_t>(channels_), 0.0F);
    if (end <= 0) return thin_;
    waiting_.resize(static_cast<std::size_t>(channels_));
    for (std::vector<float>& own : waiting_)
        own.clear();
    // Outputs of nothing but what lies before the recording are 0 already.
    const Frame before = std::max<Frame>(0, -begin);
    done_ = static_cast<std::size_t>(
        std::max<Frame>(0, before - static_cast<Frame>(thinner_.wanted(1))) / factor);
    push_zeros(static_cast<std::size_t>(before) - done_ * thinner_.factor());
    const Frame from = std::max<Frame>(0, begin);
    full_->read_in_pieces(from, end - from, [this](const Block& piece, Frame skip) {
        push(piece, static_cast<std::size_t>(skip));
    });
    push_zeros(thinner_.wanted(1)); // what lies after it
    return thin_;
}

void ThinReader::push_zeros(std::size_t frames) {
    for (std::vector<float>& own : waiting_)
        own.insert(own.end(), frames, 0.0F);
    thin();
}

void ThinReader::push(const Block& piece, std::size_t skip) {
    for (int c = 0; c < channels_; ++c) {
        const std::span<const float> samples = piece.channel(c).subspan(skip);
        std::vector<float>& own = waiting_[static_cast<std::size_t>(c)];
        own.insert(own.end(), samples.begin(), samples.end());
    }
    thin();
}

/// Makes the outputs that what is waiting allows.
void ThinReader::thin() {
    const std::size_t have = waiting_.front().size(), least = thinner_.wanted(1);
    if (have < least) return;
    const std::size_t all = static_cast<std::size_t>(thin_.frames) - done_;
    const std::size_t count = std::min(all, (have - least) / thinner_.factor() + 1);
    for (int c = 0; c < channels_; ++c) {
        std::vector<float>& own = waiting_[static_cast<std::size_t>(c)];
        thinner_.thin(own, thin_.channel(c).subspan(done_, count));
        own.erase(own.begin(), own.begin() + static_cast<std::ptrdiff_t>(
                                                 std::min(have, count * thinner_.factor())));
    }
    done_ += count;
}

} // namespace lull
