// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/levels.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace lull {
namespace {

constexpr double bins_a_db = 20.0; // resolution of the median: a fortieth of a decibel
constexpr int silent_bin = -1000000;
constexpr int largest_bin = 10000; // in single precision: 385 dB, and as much below

int bin_of(double power) {
    return power > 0.0 ? static_cast<int>(std::lround(bins_a_db * 10.0 * std::log10(power)))
                       : silent_bin;
}

double power_of(int bin) {
    return bin == silent_bin ? 0.0 : db_to_power(bin / bins_a_db);
}

double median_of(const std::map<int, std::int64_t>& histogram, std::int64_t steps) {
    std::int64_t below = 0;
    for (const auto& [bin, count] : histogram) {
        below += count;
        if (2 * below >= steps) return power_of(bin);
    }
    return 0.0;
}

} // namespace

BandLevels::BandLevels(std::vector<double> mid_hz, Frame from, Frame to, Frame interval)
    : mid_hz_(std::move(mid_hz)), from_(from), to_(to),
      interval_(interval > 0 ? interval : to - from) {}

std::vector<BandLevels::Sum>& BandLevels::interval_of(Frame frame) {
    std::vector<Sum>& sums = sums_[(frame - from_) / interval_];
    if (sums.empty()) sums.resize(mid_hz_.size());
    return sums;
}

void BandLevels::add(std::size_t band, std::span<const float> power, Frame first, Frame hop,
                     const FloorTrack& floor, Frame core_begin, Frame core_end) {
    const Frame begin = std::max(core_begin, from_), end = std::min(core_end, to_);
    for (std::size_t i = 0; i < power.size(); ++i) {
        const Frame at = first + static_cast<Frame>(i) * hop;
        if (at < begin || at >= end || !(power[i] >= 0.0F) || !std::isfinite(power[i])) continue;
        Sum& sum = interval_of(at)[band];
        ++sum.steps;
        sum.power += static_cast<double>(power[i]);
        ++sum.histogram[bin_of(static_cast<double>(power[i]))];
        if (floor.power.empty()) continue;
        ++sum.floor_steps;
        sum.floor += static_cast<double>(floor.power[floor.step_of(at)]);
    }
}

void BandLevels::close_before(std::int64_t interval) {
    for (auto it = sums_.begin(); it != sums_.end() && it->first < interval; ++it)
        for (Sum& sum : it->second) {
            if (sum.histogram.empty()) continue;
            sum.median = median_of(sum.histogram, sum.steps);
            sum.histogram.clear();
        }
}

void BandLevels::append(const BandLevels& later) {
    if (mid_hz_.empty()) {
        *this = later;
        return;
    }
    for (const auto& [interval, sums] : later.sums_) {
        close_before(interval);
        std::vector<Sum>& mine = sums_[interval];
        if (mine.empty()) {
            mine = sums;
            continue;
        }
        for (std::size_t b = 0; b < sums.size(); ++b) {
            mine[b].steps += sums[b].steps;
            mine[b].floor_steps += sums[b].floor_steps;
            mine[b].power += sums[b].power;
            mine[b].floor += sums[b].floor;
            for (const auto& [bin, count] : sums[b].histogram)
                mine[b].histogram[bin] += count;
        }
    }
}

bool BandLevels::could_be_of(const BandLevels& like, Frame core_begin, Frame core_end) const {
    if (mid_hz_ != like.mid_hz_ || from_ != like.from_ || to_ != like.to_ ||
        interval_ != like.interval_)
        return false;
    const Frame frames = core_end - core_begin;
    const auto is_sum = [frames](const Sum& sum) {
        std::int64_t counted = 0;
        for (const auto& [bin, count] : sum.histogram) {
            if (count < 0 || count > frames || (bin != silent_bin && std::abs(bin) > largest_bin))
                return false;
            counted += count;
        }
        return sum.steps >= 0 && sum.steps <= frames && counted == sum.steps &&
               sum.floor_steps >= 0 && sum.floor_steps <= sum.steps && sum.power >= 0.0 &&
               sum.floor >= 0.0 && sum.median == -1.0;
    };
    return std::ranges::all_of(sums_, [&](const auto& entry) {
        const auto& [interval, sums] = entry;
        return interval >= (core_begin - from_) / interval_ &&
               interval <= (core_end - 1 - from_) / interval_ && sums.size() == mid_hz_.size() &&
               std::ranges::all_of(sums, is_sum);
    });
}

std::vector<NoiseLevel> BandLevels::levels(int channel, double rate_hz) const {
    std::vector<NoiseLevel> rows;
    for (const auto& [interval, sums] : sums_) {
        const Frame begin = from_ + interval * interval_, end = std::min(to_, begin + interval_);
        for (std::size_t b = 0; b < sums.size(); ++b) {
            const Sum& sum = sums[b];
            if (sum.steps == 0) continue;
            NoiseLevel row{channel,
                           mid_hz_[b],
                           static_cast<double>(begin) / rate_hz,
                           static_cast<double>(end) / rate_hz,
                           0.0,
                           0.0,
                           0.0};
            row.level = sum.power / static_cast<double>(sum.steps);
            row.median = sum.histogram.empty() ? sum.median : median_of(sum.histogram, sum.steps);
            if (sum.floor_steps) row.floor = sum.floor / static_cast<double>(sum.floor_steps);
            rows.push_back(row);
        }
    }
    return rows;
}

} // namespace lull
