// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/extent.hpp"

#include "clones.hpp"
#include "signal/internal/lanes.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstring>

namespace lull {
namespace {

constexpr std::size_t lanes = float_lanes;
using HalfLanes = float __attribute__((vector_size(lanes / 2 * sizeof(float))));
using DoubleLanes = double __attribute__((vector_size(lanes / 2 * sizeof(double))));

struct Lanes {
    std::array<float, lanes> low, high;
    std::array<double, lanes> sum;
};

/// \param count  a multiple of the number of lanes, and not 0
LULL_CLONES void take(const float* x, std::size_t count, Lanes& into) {
    FloatLanes low, high, value;
    std::memcpy(&low, x, sizeof low);
    high = low;
    DoubleLanes sum_low = {}, sum_high = {};
    for (std::size_t i = 0; i < count; i += lanes) {
        std::memcpy(&value, x + i, sizeof value);
        low = value < low ? value : low;
        high = value > high ? value : high;
        const HalfLanes first = __builtin_shufflevector(value, value, 0, 1, 2, 3);
        const HalfLanes second = __builtin_shufflevector(value, value, 4, 5, 6, 7);
        sum_low += __builtin_convertvector(first, DoubleLanes);
        sum_high += __builtin_convertvector(second, DoubleLanes);
    }
    std::memcpy(into.low.data(), &low, sizeof low);
    std::memcpy(into.high.data(), &high, sizeof high);
    std::memcpy(into.sum.data(), &sum_low, sizeof sum_low);
    std::memcpy(into.sum.data() + lanes / 2, &sum_high, sizeof sum_high);
}

} // namespace

Extent extent_of(std::span<const float> samples) {
    if (samples.empty()) return {};
    Extent all{samples.front(), samples.front(), 0.0};
    const std::size_t whole = samples.size() / lanes * lanes;
    if (whole > 0) {
        Lanes side_by_side;
        take(samples.data(), whole, side_by_side);
        all.low = *std::ranges::min_element(side_by_side.low);
        all.high = *std::ranges::max_element(side_by_side.high);
        for (const double part : side_by_side.sum)
            all.sum += part;
    }
    for (const float value : samples.subspan(whole)) {
        all.low = std::min(all.low, value);
        all.high = std::max(all.high, value);
        all.sum += static_cast<double>(value);
    }
    return all;
}

} // namespace lull
