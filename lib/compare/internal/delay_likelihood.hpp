// SPDX-License-Identifier: GPL-3.0-or-later
//
// The likelihood of a delay between two spectra, and its maxima.
#pragma once

#include "compare/delay.hpp"
#include "compare/heard_spectrum.hpp"

#include <vector>

namespace lull {

/// Value and derivatives of a sum of phases.
struct PhaseValue {
    double level = 0.0, slope = 0.0, bend = 0.0;
};

/// The sum over bins k of the real part of w[k] exp(2 pi i f_k delay), and its derivatives by the
/// delay.
struct PhaseSum {
    double bin_omega = 0.0; ///< angular frequency of one bin [rad/s]
    Bins bins;
    std::vector<float> real, imaginary; ///< w from bins.first on

    [[nodiscard]] PhaseValue at(double delay_s) const;
};

/// Angular frequency of one bin [rad/s].
[[nodiscard]] double bin_omega_of(const HeardSpectrum& heard);

struct Likelihood {
    PhaseSum sum;
    double information = 0.0; ///< sum of g
    double curvature = 0.0;   ///< 2 sum omega^2 g
    double told_bins = 0.0;   ///< independent bins that stand above the noise: sum of g/(1+g)
};

/// Of two spectra of one size, from stretches of one length. \param result  is overwritten
void likelihood_of(const HeardSpectrum& a, const HeardSpectrum& b, Likelihood& result);

struct Maximum {
    double level = 0.0, delay_s = 0.0;
};

/// Maxima of the likelihood, best first, out to twice the longest delay, so that a better one
/// beyond it is seen. On a grid of at most a quarter of the shortest period, between its points by
/// a parabola, and those that could be the best by Newton's steps. \param size  of the transforms
[[nodiscard]] std::vector<Maximum> maxima(const PhaseSum& likelihood, double rate_hz,
                                          double longest_delay_s, std::size_t size,
                                          TransformRoom& room);

/// The delay at the best maximum that is possible, with the reasons why it may not be usable.
[[nodiscard]] DelayEstimate likeliest_delay(const HeardSpectrum& a, const HeardSpectrum& b,
                                            double longest_delay_s, const Likelihood& likelihood,
                                            std::vector<Maximum> found);

/// The spectrum of a whole stretch, with room for delays out to twice the longest.
[[nodiscard]] HeardSpectrum spectrum_of_event(std::span<const float> event,
                                              const NoiseSpectrum& noise, double rate_hz, Band band,
                                              double longest_delay_s, TransformRoom& room);

} // namespace lull
