// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/automatic_gain.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double cell_s = 0.05;
constexpr float loud = 20.0F, over = 4.0F;     // times the background before the sound: 13 dB, 6 dB
constexpr std::size_t margin = 2, window = 10; // cells before a sound, and of a background
constexpr std::size_t least = 3;     // cells in the mean that is a background's lowest level
constexpr std::size_t longest = 200; // longest sound [cells]

/// Mean powers of cells of 50 ms, on a raster counted from frame 0.
struct CellLevels {
    Frame first = 0; ///< number of the cell of power[0]
    Frame frames = 1;
    std::vector<float> power;
};

CellLevels cells_of(const LevelTrack& level, double rate_hz) {
    CellLevels cells;
    const Frame hops =
        std::max<Frame>(1, std::llround(cell_s * rate_hz / static_cast<double>(level.hop)));
    cells.frames = hops * level.hop;
    cells.first = (level.first + cells.frames - 1) / cells.frames;
    const Frame skip = (cells.first * cells.frames - level.first) / level.hop;
    for (Frame at = skip; at + hops <= static_cast<Frame>(level.power.size()); at += hops) {
        float sum = 0.0F;
        for (Frame i = at; i < at + hops; ++i)
            sum += level.power[static_cast<std::size_t>(i)];
        cells.power.push_back(sum / static_cast<float>(hops));
    }
    return cells;
}

/// The median of the window's cells; 0 if one exceeds it by more than 6 dB.
float background(std::span<const float> power) {
    std::vector<float> values(power.begin(), power.end());
    const auto middle = values.begin() + window / 2;
    std::nth_element(values.begin(), middle, values.end());
    const float median = *middle;
    return *std::max_element(values.begin(), values.end()) <= over * median ? median : 0.0F;
}

/// The lowest mean of three neighbouring cells. Fast gain is back before the window ends.
float lowest(std::span<const float> power) {
    float found = 0.0F;
    for (std::size_t i = 0; i + least <= power.size(); ++i) {
        const float sum = power[i] + power[i + 1] + power[i + 2];
        if (i == 0 || sum < found) found = sum;
    }
    return found / static_cast<float>(least);
}

} // namespace

void note_gain_dips(const LevelTrack& level, double rate_hz, Frame begin, Frame end,
                    ChannelHealth& health) {
    const CellLevels cells = cells_of(level, rate_hz);
    const std::span<const float> power = cells.power;
    for (std::size_t at = window + margin; at < power.size(); ++at) {
        const auto calm = power.subspan(at - window - margin, window);
        // No cell of a calm background is over `over` times its median. Few cells need the median.
        if (!(power[at] > loud / over * calm.front())) continue;
        const float before = background(calm);
        if (before <= 0.0F || power[at] <= loud * before) continue;
        std::size_t quiet = 0, last = at + 1;
        for (; last < power.size() && quiet < window && last < at + longest; ++last)
            quiet = power[last] < over * before ? quiet + 1 : 0;
        if (quiet < window) continue;
        const Frame frame = (cells.first + static_cast<Frame>(last - window)) * cells.frames;
        const float after = lowest(power.subspan(last - window, window));
        if (after > 0.0F && frame >= begin && frame < end &&
            health.dips.size() < ChannelHealth::most_dips)
            health.dips.push_back({frame, 10.0F * std::log10(lowest(calm) / after)});
        at = last + margin;
    }
}

} // namespace lull
