// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/judge.hpp"

#include <algorithm>

namespace lull {

double Judged::to_s() const {
    const Frame end =
        health.first + health.frames + health.missing.frames + health.non_finite.frames;
    return seconds(end);
}

double Judged::step_s(std::size_t step) const {
    const Frame begin = (health.first / health.step + static_cast<Frame>(step)) * health.step;
    return std::min(to_s(), seconds(std::max(health.first, begin)));
}

std::vector<Finding> findings(std::span<const ChannelHealth> channels, double rate_hz) {
    std::vector<Finding> all;
    for (std::size_t c = 0; c < channels.size(); ++c) {
        const Judged judged{static_cast<int>(c), channels[c], rate_hz, channels};
        judge_death(judged, all);
        judge_clipping(judged, all);
        judge_dropouts(judged, all);
        judge_offset(judged, all);
        judge_hum(judged, all);
    }
    return all;
}

} // namespace lull
