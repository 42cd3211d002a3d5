// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/jump_meter.hpp"

#include "clones.hpp"
#include "signal/internal/lanes.hpp"

#include <algorithm>
#include <cstring>

namespace lull {
namespace {

constexpr std::size_t part = 512;     // a jump is compared with so many samples
constexpr float clear = 64.0F;        // squared: 8 times the RMS of the differences
constexpr std::size_t neighbours = 8; // on either side
// squared, relative to the jump: the onset of a sound takes several samples
constexpr float most_close = 0.16F;
constexpr std::size_t wide = 256;  // on either side
constexpr float most_wide = 0.25F; // the same: a tone with edges has more than one jump

struct Differences {
    float largest = 0.0F, sum = 0.0F; ///< of the squared differences
};

/// Of x[1] - x[0] ... x[part] - x[part - 1].
LULL_CLONES Differences differences_of(const float* x) {
    FloatLanes top{}, sum{};
    for (std::size_t i = 0; i < part; i += float_lanes) {
        FloatLanes here, next;
        std::memcpy(&here, x + i, sizeof here);
        std::memcpy(&next, x + i + 1, sizeof next);
        const FloatLanes d = next - here, square = d * d;
        sum += square;
        top = square > top ? square : top;
    }
    Differences all;
    for (int j = 0; j < float_lanes; ++j) {
        all.largest = std::max(all.largest, top[j]);
        all.sum += sum[j];
    }
    return all;
}

} // namespace

void JumpMeter::look(std::span<const float> piece, Frame first) {
    const auto square = [&](std::size_t i) {
        const float d = piece[i] - piece[i - 1];
        return d * d;
    };
    if (piece.size() <= part + 2 * neighbours) return;
    // The last part ends with the piece. The few samples at the ends have too few neighbours.
    const std::size_t end = piece.size() - part - neighbours;
    for (std::size_t begin = neighbours; begin < end + part; begin += part) {
        const std::size_t at = std::min(begin, end - 1);
        const Differences d = differences_of(piece.data() + at);
        if (!(d.largest * static_cast<float>(part) > clear * d.sum)) continue;
        std::size_t jump = at + 1;
        while (jump < at + part && square(jump) < d.largest)
            ++jump;
        const std::size_t low = jump > wide ? jump - wide : 1,
                          high = std::min(piece.size() - 1, jump + wide);
        bool alone = true;
        for (std::size_t i = low; i <= high && alone; ++i) {
            const bool close = i + neighbours >= jump && i <= jump + neighbours;
            alone = i == jump || square(i) < (close ? most_close : most_wide) * d.largest;
        }
        const Frame frame = first + static_cast<Frame>(jump);
        if (alone && frame >= found_.end) found_.add({frame, 1});
    }
}

} // namespace lull
