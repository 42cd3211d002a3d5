// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/internal/ringing.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr float event_over = 8.0F; // times the floor
constexpr float matters = 0.2F;    // of the floor
constexpr double fall_db = 10.44;  // per 1/bandwidth

} // namespace

std::vector<char> ringing(std::span<const float> power, std::span<const float> floor, double hop_s,
                          double bandwidth_hz) {
    std::vector<char> marked(power.size(), 0);
    const auto fall = static_cast<float>(std::pow(10.0, -0.1 * fall_db * hop_s * bandwidth_hz));
    float rest = 0.0F; // of earlier events
    for (std::size_t i = 0; i < power.size(); ++i) {
        rest *= fall;
        const bool event = power[i] > event_over * floor[i];
        if (event || rest > matters * floor[i]) marked[i] = 1;
        if (!event) continue;
        if (i > 0) marked[i - 1] = 1; // the filter's rise
        rest = std::max(rest, power[i]);
    }
    return marked;
}

} // namespace lull
