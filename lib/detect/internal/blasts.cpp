// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/blasts.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace lull {

namespace {

// Frames are 8 ms apart; levels in dB are means of 96 ms.
constexpr std::size_t span = 12;
constexpr float least_rise_db = 8.0F, least_fall_db = 7.0F, most_off_db = 5.0F;
constexpr float faintest_power = 1e-14F;
constexpr float surely_less = 6.2F;    ///< a ratio under least_rise_db, however levels are rounded
constexpr std::size_t settled = 4;     ///< frames after the onset before the level is held
constexpr std::size_t same_begin = 12; ///< frames between bands of one blast
constexpr std::size_t same_end = 25;   ///< the same: an echo is not as long in every band
constexpr auto shortest = static_cast<std::size_t>(shortest_blast_s / spectrum_hop_s);
constexpr auto longest = static_cast<std::size_t>(longest_blast_s / spectrum_hop_s);

/// Mean levels of a band. Most are never asked for: a logarithm of each costs more than all else.
class Levels {
  public:
    Levels(const SpectrumTrack& spectrum, std::size_t band) {
        const std::size_t frames = spectrum.frames(), bands = spectrum.bands();
        means_.reserve(frames);
        double sum = 0.0;
        for (std::size_t i = 0; i < frames; ++i) {
            sum += static_cast<double>(spectrum.power[i * bands + band]);
            if (i >= span) sum -= static_cast<double>(spectrum.power[(i - span) * bands + band]);
            if (i + 1 < span) continue;
            const auto mean = static_cast<float>(std::max(sum, 0.0) / static_cast<double>(span));
            means_.push_back(std::max(mean, faintest_power));
        }
    }

    [[nodiscard]] std::size_t size() const { return means_.size(); }

    /// Level in dB of the frames [i, i + span).
    float operator[](std::size_t i) const { return 10.0F * std::log10(means_[i]); }

    /// Whether the level at i may be least_rise_db over that of span frames before.
    [[nodiscard]] bool may_rise(std::size_t i) const {
        return means_[i] > surely_less * means_[i - span];
    }

  private:
    std::vector<float> means_; ///< [i]: power of the frames [i, i + span)
};

/// The end of the level that is held from `begin` on; 0 when it is not held, or does not fall.
std::size_t held_until(const Levels& level, std::size_t begin) {
    const std::size_t first = begin + settled;
    if (first + shortest >= level.size()) return 0;
    std::vector<float> start;
    for (std::size_t i = first; i < first + shortest - span; ++i)
        start.push_back(level[i]);
    const auto middle = start.begin() + static_cast<std::ptrdiff_t>(start.size() / 2);
    std::nth_element(start.begin(), middle, start.end());
    const float held = *middle;
    for (std::size_t i = first; i < level.size() && i < begin + longest; ++i) {
        if (std::abs(level[i] - held) <= most_off_db) continue;
        if (level[i] > held || i + span >= level.size()) return 0;
        if (level[i + span] > held - least_fall_db) return 0;
        // The mean is off when half or so of its frames lie behind the end.
        const std::size_t end = i + span / 2;
        return end - begin >= shortest ? end : 0;
    }
    return 0;
}

void find_in_band(const Levels& level, std::vector<LastingStretch>& found) {
    for (std::size_t i = span; i < level.size(); ++i) {
        if (!level.may_rise(i) || level[i] - level[i - span] < least_rise_db) continue;
        // The steepest place of the next ones is the onset.
        std::size_t begin = i;
        for (std::size_t k = i; k < std::min(level.size(), i + span); ++k)
            if (level[k] - level[k - span] > level[begin] - level[begin - span]) begin = k;
        const std::size_t end = held_until(level, begin);
        if (end > 0) found.push_back({begin, end, level[begin] - level[begin - span], false});
        i = begin + span;
    }
}

bool same(const LastingStretch& a, const LastingStretch& b) {
    const auto off = [](std::size_t x, std::size_t y) { return x > y ? x - y : y - x; };
    return off(a.begin, b.begin) <= same_begin && off(a.end, b.end) <= same_end;
}

} // namespace

std::vector<LastingStretch> find_blasts(const SpectrumTrack& spectrum) {
    std::vector<LastingStretch> all, kept;
    for (std::size_t band = 0; band < spectrum.bands(); ++band)
        find_in_band(Levels(spectrum, band), all);
    // The band that rises most tells the ends best.
    std::ranges::stable_sort(
        all, [](const LastingStretch& a, const LastingStretch& b) { return a.score > b.score; });
    for (const LastingStretch& one : all)
        if (std::ranges::none_of(kept,
                                 [&](const LastingStretch& other) { return same(one, other); }))
            kept.push_back(one);
    std::ranges::stable_sort(kept, {}, &LastingStretch::begin);
    return kept;
}

} // namespace lull
