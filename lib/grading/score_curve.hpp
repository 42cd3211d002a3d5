// SPDX-License-Identifier: GPL-3.0-or-later
//
// The psychometric curve: probability of being heard against SNR.
#pragma once

#include "grading/score.hpp"

#include <span>
#include <string>

namespace lull {

/// Events of one SNR, and how many listeners heard them.
struct HeardAt {
    double snr_db = 0.0;
    int heard = 0;
    int listeners = 0;
};

/// P(heard) = guess + (1 - guess - lapse) / (1 + exp(-(snr - threshold) / spread)).
struct HearingCurve {
    Estimate threshold_db;           ///< midway between guess and 1 - lapse
    Estimate spread_db;              ///< > 0; a smaller one is steeper
    double guess = 0.0, lapse = 0.0; ///< fixed
    double log_likelihood = 0.0;     ///< without the binomial coefficients
    int trials = 0;
    std::string why_not; ///< why there is no threshold; empty when there is one
};

/// Fits threshold and spread by maximum likelihood (Fisher scoring with halved steps; model of
/// [published: Wichmann & Hill 2001, Perception & Psychophysics 63, 1293-1313]). There is no
/// threshold if there are fewer than three SNRs, if all or none were heard, if louder sounds were
/// not heard more often than weaker ones, if one SNR separates heard from unheard completely, since
/// any steep curve fits then, or if the threshold would lie outside the SNRs of the data. A limit
/// of the interval outside them is left out, and both limits are when the slope may be 0.
/// \param guess  0 <= guess < 1: heard without a sound
/// \param lapse  0 <= lapse < 1 - guess: not heard, however loud
[[nodiscard]] HearingCurve fit_hearing_curve(std::span<const HeardAt> data, double guess,
                                             double lapse);

} // namespace lull
