// SPDX-License-Identifier: GPL-3.0-or-later
//
// Whether two impulses come from one place, and are one blow: by the phases between channels, in
// which the source drops out and the paths remain, and by their waveforms at one lag that serves
// all channels.
#pragma once

#include "detect/event.hpp"

namespace lull {

/// Two impulses over the channels on which both have an imprint.
struct PlaceMatch {
    int channels = 0;         ///< such channels; under two nothing is known of the place
    double agreement = 0.0;   ///< of the phases between channels: about standard normal where they
                              ///< are random, the larger the surer they are alike
    double coherence = 0.0;   ///< -1..1: the same as a weighted mean cosine
    double correlation = 0.0; ///< -1..1: highest within 2 ms of the onsets' lag, of spectra whose
                              ///< magnitudes are halved in decibels
    double expected = 0.0;    ///< 0..1: of two blows that are one, at this noise
};

/// A bin weighs as far as it stands over the floor on both, by its band. Of each pair of channels
/// the phase of the cross spectrum is compared between the two impulses, as relative transfer
/// functions are where arrays of microphones are used; the sum over all pairs is taken at once.
[[nodiscard]] PlaceMatch match_places(const Event& a, const Event& b);

} // namespace lull
