// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/scores.hpp"

#include "detect/internal/candidates.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

ScoreTrack running_scores(const ChannelTracks& tracks, double rate_hz, Frame begin, Frame end) {
    ScoreTrack scores;
    scores.hop = std::max<Frame>(1, std::llround(score_step_s * rate_hz));
    const Frame first_step = (begin + scores.hop - 1) / scores.hop;
    const Frame end_step = (end + scores.hop - 1) / scores.hop;
    scores.first = first_step * scores.hop;
    const auto steps = static_cast<std::size_t>(std::max<Frame>(0, end_step - first_step));
    scores.impulse.assign(steps, 0.0F);
    scores.lasting.assign(steps, 0.0F);
    scores.floor.assign(steps, 0.0F);
    const CandidateScores all = candidate_scores(tracks, rate_hz);
    const SpectrumTrack& spectrum = tracks.spectrum;
    for (std::size_t i = 0; i < all.impulse.size(); ++i) {
        const Frame at = spectrum.first + static_cast<Frame>(i) * spectrum.hop;
        const Frame step = at / scores.hop - first_step;
        if (at < 0 || step < 0 || step >= static_cast<Frame>(steps)) continue;
        const auto s = static_cast<std::size_t>(step);
        scores.impulse[s] = std::max(scores.impulse[s], all.impulse[i]);
        scores.lasting[s] = std::max(scores.lasting[s], all.sustained[i]);
    }
    if (tracks.floor.power.empty()) return scores;
    for (std::size_t s = 0; s < steps; ++s) {
        const Frame middle = scores.first + static_cast<Frame>(s) * scores.hop + scores.hop / 2;
        scores.floor[s] = tracks.floor.power[tracks.floor.step_of(middle)];
    }
    return scores;
}

void append(ScoreTrack& whole, const ScoreTrack& next) {
    if (whole.impulse.empty()) {
        whole = next;
        return;
    }
    whole.impulse.insert(whole.impulse.end(), next.impulse.begin(), next.impulse.end());
    whole.lasting.insert(whole.lasting.end(), next.lasting.begin(), next.lasting.end());
    whole.floor.insert(whole.floor.end(), next.floor.begin(), next.floor.end());
}

} // namespace lull
