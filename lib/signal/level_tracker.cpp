// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/level_tracker.hpp"

#include "clones.hpp"
#include "signal/internal/lanes.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

namespace lull {
namespace {

constexpr Frame lanes = 16;
using Lanes = std::array<float, lanes>;

/// Adds `count` samples, a multiple of the number of lanes, to the partial results side by side:
/// half of them fill a register of AVX2.
LULL_CLONES void add_lanes(const float* x, Frame count, Lanes& squares, Lanes& largest) {
    for (std::size_t half = 0; half < lanes; half += float_lanes) {
        FloatLanes sum, peak, value;
        std::memcpy(&sum, squares.data() + half, sizeof sum);
        std::memcpy(&peak, largest.data() + half, sizeof peak);
        for (Frame n = 0; n < count; n += lanes) {
            std::memcpy(&value, x + n + half, sizeof value);
            const FloatLanes size = value < 0.0F ? -value : value;
            sum += value * value;
            peak = size > peak ? size : peak;
        }
        std::memcpy(squares.data() + half, &sum, sizeof sum);
        std::memcpy(largest.data() + half, &peak, sizeof peak);
    }
}

/// Sum and peak of all lanes into the first, folded in halves: a fixed order.
void fold(Lanes& squares, Lanes& largest) {
    for (std::size_t half = lanes / 2; half > 0; half /= 2)
        for (std::size_t l = 0; l < half; ++l) {
            squares[l] += squares[l + half];
            largest[l] = largest[l] > largest[l + half] ? largest[l] : largest[l + half];
        }
}

} // namespace

LevelTracker::LevelTracker(int channels, double rate_hz, Frame first, Frame frames)
    : tracks_(static_cast<std::size_t>(channels)), hops_(tracks_.size()),
      hop_(std::max<Frame>(1, std::llround(level_hop_s * rate_hz))), at_(first) {
    for (LevelTrack& track : tracks_) {
        track.hop = hop_;
        track.first = (first + hop_ - 1) / hop_ * hop_;
        track.power.reserve(static_cast<std::size_t>(frames / hop_));
        track.peak.reserve(static_cast<std::size_t>(frames / hop_));
    }
}

/// Sample n of the hop goes to partial result n % lanes, whatever the blocks. So the same samples
/// give the same bytes, and the compiler can vectorise the loop.
void LevelTracker::Hop::add(const float* x, Frame into_hop, Frame count) {
    Frame n = 0;
    const auto add_one = [&] {
        const auto lane = static_cast<std::size_t>((into_hop + n) % lanes);
        squares[lane] += x[n] * x[n];
        largest[lane] = std::max(largest[lane], std::fabs(x[n]));
        ++n;
    };
    while (n < count && (into_hop + n) % lanes != 0)
        add_one();
    const Frame whole = std::max<Frame>(0, count - n) / lanes * lanes;
    add_lanes(x + n, whole, squares, largest);
    n += whole;
    while (n < count)
        add_one();
}

void LevelTracker::push(const Block& block) {
    if (tracks_.empty()) return;
    for (Frame done = 0; done < block.frames;) {
        const Frame into_hop = at_ % hop_;
        const Frame count = std::min(hop_ - into_hop, block.frames - done);
        const bool counted = at_ >= tracks_.front().first;
        for (std::size_t c = 0; c < tracks_.size() && counted; ++c) {
            Hop& hop = hops_[c];
            hop.add(block.channel(static_cast<int>(c)).data() + done, into_hop, count);
            if (into_hop + count < hop_) continue;
            fold(hop.squares, hop.largest);
            tracks_[c].power.push_back(hop.squares.front() / static_cast<float>(hop_));
            tracks_[c].peak.push_back(hop.largest.front());
            hop = {};
        }
        at_ += count;
        done += count;
    }
}

std::vector<LevelTrack> LevelTracker::take() {
    return std::exchange(tracks_, {});
}

} // namespace lull
