// SPDX-License-Identifier: GPL-3.0-or-later
//
// Cheap tests on the tracks: where is a costly look worth it?
#pragma once

#include "detect/unit_input.hpp"

#include <cstddef>
#include <vector>

namespace lull {

/// An instant at which the power rose at once, in frames of the spectrum track.
struct Instant {
    std::size_t frame = 0; ///< loudest frame
    std::size_t start = 0; ///< first frame of the rise
    float score = 0.0F;    ///< log likelihood ratio against the floor and the moment before
};

/// A stretch of the spectrum track in which the power stays over the floor.
struct LastingStretch {
    std::size_t begin = 0, end = 0; ///< frames [begin, end)
    float score = 0.0F;             ///< largest log likelihood ratio inside
    bool cut = false;               ///< reached the end of the track
};

struct Candidates {
    std::vector<Instant> instants;         ///< in time order
    std::vector<LastingStretch> stretches; ///< in time order, apart from each other
};

/// Degrees of freedom of one frame's power in a band: twice bandwidth times the window's
/// effective length, at least 2 (one bin of a periodogram, chi-square with 2 degrees).
[[nodiscard]] std::vector<double> degrees_of_freedom(const SpectrumTrack& spectrum, double rate_hz);

/// Log likelihood ratio of a chi-square power with `degrees` degrees whose mean is its own value
/// against one whose mean is 1/ratio of it; 0 for ratio <= 1.
[[nodiscard]] float excess_likelihood(float ratio, float degrees);

/// The scores that candidates are picked from, a value each frame of the spectrum track.
struct CandidateScores {
    std::vector<float> impulse;   ///< against the floor and the moment before
    std::vector<float> sustained; ///< mean of 128 ms centred on the frame, against the floor
};

[[nodiscard]] CandidateScores candidate_scores(const ChannelTracks& tracks, double rate_hz);
[[nodiscard]] Candidates find_candidates(const ChannelTracks& tracks, double rate_hz);

} // namespace lull
