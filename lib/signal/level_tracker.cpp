// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/level_tracker.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace lull {
namespace {

constexpr int lanes = 8;

/// Sum of squares and largest magnitude, in eight partial results that are joined in fixed order:
/// the same bytes for the same samples, and a loop that the compiler can vectorise.
void measure(const float* x, Frame count, double& sum, float& peak) {
    float squares[lanes] = {}, largest[lanes] = {};
    Frame n = 0;
    for (; n + lanes <= count; n += lanes)
        for (int l = 0; l < lanes; ++l) {
            const float value = x[n + l];
            squares[l] += value * value;
            largest[l] = std::max(largest[l], std::fabs(value));
        }
    for (; n < count; ++n) {
        squares[0] += x[n] * x[n];
        largest[0] = std::max(largest[0], std::fabs(x[n]));
    }
    for (int l = 0; l < lanes; ++l) {
        sum += squares[l];
        peak = std::max(peak, largest[l]);
    }
}

} // namespace

LevelTracker::LevelTracker(int channels, double rate_hz, Frame first)
    : tracks_(static_cast<std::size_t>(channels)), sums_(tracks_.size()), peaks_(tracks_.size()),
      hop_(std::max<Frame>(1, std::llround(level_hop_s * rate_hz))), at_(first) {
    for (LevelTrack& track : tracks_) {
        track.hop = hop_;
        track.first = (first + hop_ - 1) / hop_ * hop_;
    }
}

void LevelTracker::push(const Block& block) {
    if (tracks_.empty()) return;
    for (Frame done = 0; done < block.frames;) {
        const Frame hop_end = (at_ / hop_ + 1) * hop_;
        const Frame count = std::min(hop_end - at_, block.frames - done);
        const bool counted = at_ >= tracks_.front().first;
        for (std::size_t c = 0; c < tracks_.size() && counted; ++c) {
            measure(block.channel(static_cast<int>(c)).data() + done, count, sums_[c], peaks_[c]);
            if (at_ + count < hop_end) continue;
            tracks_[c].power.push_back(static_cast<float>(sums_[c] / static_cast<double>(hop_)));
            tracks_[c].peak.push_back(peaks_[c]);
            sums_[c] = 0.0;
            peaks_[c] = 0.0F;
        }
        at_ += count;
        done += count;
    }
}

std::vector<LevelTrack> LevelTracker::take() { return std::exchange(tracks_, {}); }

} // namespace lull
