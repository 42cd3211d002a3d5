// SPDX-License-Identifier: GPL-3.0-or-later
//
// The psychometric curve: how the chance of being heard grows with the SNR.
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
    Estimate spread_db;              ///< > 0: the smaller, the steeper
    double guess = 0.0, lapse = 0.0; ///< held fixed
    double log_likelihood = 0.0;     ///< without the binomial coefficients
    int trials = 0;
    std::string why_not; ///< why there is no threshold; empty when there is
};

/// Fits threshold and spread by maximum likelihood (Fisher scoring with halved steps; the model of
/// [published: Wichmann & Hill 2001, Perception & Psychophysics 63, 1293-1313]). No threshold when
/// there are fewer than three SNRs, all or none were heard, louder sounds were not heard more often
/// than weaker ones, heard and unheard fall apart at one SNR, where any steep curve fits, or the
/// threshold would lie outside the SNRs that were there. A limit of the interval is left out when
/// it lies outside them too, and both when the slope may be 0.
/// \param guess  0 <= guess < 1: heard without a sound
/// \param lapse  0 <= lapse < 1 - guess: not heard, however loud
[[nodiscard]] HearingCurve fit_hearing_curve(std::span<const HeardAt> data, double guess,
                                             double lapse);

} // namespace lull
