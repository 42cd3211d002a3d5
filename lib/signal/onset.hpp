// SPDX-License-Identifier: GPL-3.0-or-later
//
// Onset of an impulse by the Akaike criterion.
#pragma once

#include <span>

namespace lull {

struct Onset {
    double sample = 0.0;        ///< index into the waveform
    double sigma_samples = 0.0; ///< standard deviation, from the weights of the other splits
};

/// The split k of a waveform into noise before and signal after that minimises
/// AIC(k) = k ln var(x[0..k)) + (N-k-1) ln var(x[k..N)) [Maeda 1985].
///
/// \param waveform     zero-mean samples, noise first, not much longer than the rise; N >= 8
/// \param independence independent samples per sample, 0..1: twice the bandwidth over the rate
[[nodiscard]] Onset onset_by_akaike(std::span<const float> waveform, double independence);

} // namespace lull
