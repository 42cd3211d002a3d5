// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/clip_meter.hpp"

#include <algorithm>

namespace lull {
namespace {

constexpr double coarsest_full_scale = 1.0 / 128.0; // 8 bits
constexpr double finest_full_scale =
    1.0 / 32768.0;                    // a recorder of 16 bits, whatever the file's format
constexpr Frame least_run = 4;        // below full scale: samples of one flattened peak
constexpr std::int64_t pile_up = 4;   // samples at the extreme for each one just under it
constexpr double least_quanta = 16.0; // a level of a few quanta is noise, not a limit

} // namespace

void ClipMeter::raise(float level) {
    const bool close = level_ >= near_ * level;
    near_count_ = close ? near_count_ + runs_.frames : 0;
    second_ = level_;
    second_count_ = runs_.frames;
    level_ = level;
    runs_ = {};
    longest_ = run_ = 0;
    last_ = -2;
}

void ClipMeter::look(std::span<const float> samples, Frame first) {
    for (std::size_t i = 0; i < samples.size(); ++i) {
        const float v = sign_ * samples[i];
        if (v < near_ * level_ || v <= 0.0F) continue;
        if (v > level_) raise(v);
        if (v < level_) {
            ++near_count_;
            if (v > second_) second_ = v, second_count_ = 0;
            if (v >= second_) ++second_count_;
            continue;
        }
        const Frame at = first + static_cast<Frame>(i);
        run_ = at == last_ + 1 ? run_ + 1 : 1;
        longest_ = std::max(longest_, run_);
        last_ = at;
        runs_.add({at, 1});
    }
}

bool ClipMeter::clipped(double least_step) const {
    const double quantum = std::clamp(least_step, finest_full_scale, coarsest_full_scale);
    if (level() >= 1.0 - 1.01 * quantum) return longest_ >= 2;
    if (longest_ < least_run || level() < least_quanta * least_step) return false;
    // Where a hundredth of the level holds few quanta, compare with the next value under it.
    const std::int64_t under = std::max(near_count_, second_count_);
    return runs_.frames >= pile_up * (under + 1);
}

} // namespace lull
