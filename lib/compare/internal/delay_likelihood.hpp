// SPDX-License-Identifier: GPL-3.0-or-later
//
// The likelihood of a delay between two spectra, and its maxima.
#pragma once

#include "compare/delay.hpp"

#include <complex>
#include <utility>
#include <vector>

namespace lull {

constexpr std::size_t phase_lanes = 8; ///< bins whose phases turn side by side

/// Value and derivatives of a sum of phases.
struct PhaseValue {
    double level = 0.0, slope = 0.0, bend = 0.0;
};

/// The sum over bins k of the real part of w[k] exp(2 pi i f_k delay), and its derivatives by the
/// delay.
class PhaseSum {
  public:
    PhaseSum(double bin_omega, std::size_t first_bin, std::size_t bins)
        : bin_omega_(bin_omega), first_bin_(first_bin),
          real_((bins + phase_lanes - 1) / phase_lanes * phase_lanes), imaginary_(real_.size()) {}

    void set(std::size_t bin, std::complex<double> w) {
        real_[bin - first_bin_] = w.real();
        imaginary_[bin - first_bin_] = w.imag();
    }
    [[nodiscard]] std::complex<double> operator[](std::size_t bin) const {
        return {real_[bin - first_bin_], imaginary_[bin - first_bin_]};
    }

    [[nodiscard]] PhaseValue at(double delay_s) const;

  private:
    double bin_omega_; ///< angular frequency of one bin [rad/s]
    std::size_t first_bin_;
    std::vector<double> real_, imaginary_;
};

/// The bins of a transform within the band: [first, end).
struct Bins {
    std::size_t first, end;
};

[[nodiscard]] Bins bins_of(const HeardSpectrum& heard, Band band);

/// Angular frequency of one bin [rad/s].
[[nodiscard]] double bin_omega_of(const HeardSpectrum& heard);

struct Likelihood {
    PhaseSum sum;
    double information = 0.0; ///< sum of g
    double curvature = 0.0;   ///< 2 sum omega^2 g
    double told_bins = 0.0;   ///< independent bins that stand above the noise: sum of g/(1+g)
};

/// Of two spectra of one size, from stretches of one length.
[[nodiscard]] Likelihood likelihood_of(const HeardSpectrum& a, const HeardSpectrum& b, Bins bins);

/// Maxima (level, delay) of the likelihood, best first, out to twice the longest delay, so that a
/// better one beyond it is seen. On a grid of at most an eighth of the shortest period, refined
/// between its points. \param size  of the transforms
[[nodiscard]] std::vector<std::pair<double, double>> maxima(const PhaseSum& likelihood, Bins bins,
                                                            double rate_hz, double longest_delay_s,
                                                            std::size_t size);

/// The delay at the best maximum that is possible, with the reasons why it may not be usable.
[[nodiscard]] DelayEstimate likeliest_delay(const HeardSpectrum& a, const HeardSpectrum& b,
                                            Bins bins, double longest_delay_s,
                                            const Likelihood& likelihood,
                                            std::vector<std::pair<double, double>> found);

} // namespace lull
