// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/pitch_path.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace lull {

namespace {

constexpr double noise_share = 0.4;  ///< noise of the analysis band alone seldom has more
constexpr double move_cost = 0.1;    ///< a semitone from frame to frame
constexpr double most_semitones = 2; ///< from frame to frame: a voice moves no faster

/// The best path that ends at a peak.
struct End {
    double gain = 0.0;
    std::optional<std::size_t> before; ///< peak of the frame before; none: it begins here
};

using Ends = std::vector<std::vector<End>>;

double semitones(double a_hz, double b_hz) {
    return 12.0 * std::log2(a_hz / b_hz);
}

End best_end(const PitchPeak& peak, const PitchedFrame* before, const std::vector<End>* ends) {
    End best;
    for (std::size_t k = 0; before && k < before->peaks.size(); ++k) {
        const double move = std::abs(semitones(peak.pitch_hz, before->peaks[k].pitch_hz));
        const double gain = (*ends)[k].gain - move_cost * move;
        if (move <= most_semitones && gain > best.gain) best = {gain, k};
    }
    best.gain += peak.share - noise_share;
    return best;
}

PitchPath trace(const std::vector<PitchedFrame>& frames, const Ends& ends, std::size_t frame,
                std::size_t peak) {
    PitchPath path;
    path.gain = ends[frame][peak].gain;
    std::vector<double> notes;
    for (std::optional<std::size_t> at = peak; at; --frame) {
        const PitchPeak& one = frames[frame].peaks[*at];
        notes.push_back(semitones(one.pitch_hz, 1.0));
        path.share += one.share;
        at = ends[frame][*at].before;
        if (!at) break;
    }
    path.share /= static_cast<double>(notes.size());
    std::ranges::sort(notes);
    const std::size_t tenth = notes.size() / 10;
    path.range = notes[notes.size() - 1 - tenth] - notes[tenth];
    return path;
}

} // namespace

PitchPath strongest_path(const std::vector<PitchedFrame>& frames) {
    Ends ends(frames.size());
    double most = 0.0;
    std::size_t frame = 0, peak = 0;
    for (std::size_t i = 0; i < frames.size(); ++i) {
        const bool follows = i > 0 && frames[i - 1].frame + 1 == frames[i].frame;
        for (std::size_t k = 0; k < frames[i].peaks.size(); ++k) {
            ends[i].push_back(best_end(frames[i].peaks[k], follows ? &frames[i - 1] : nullptr,
                                       follows ? &ends[i - 1] : nullptr));
            if (ends[i][k].gain <= most) continue;
            most = ends[i][k].gain;
            frame = i;
            peak = k;
        }
    }
    return most > 0.0 ? trace(frames, ends, frame, peak) : PitchPath{};
}

} // namespace lull
