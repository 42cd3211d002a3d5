// SPDX-License-Identifier: GPL-3.0-or-later
//
// The phase of a fundamental with variable frequency, and the amplitudes of its harmonics.
#pragma once

#include "signal/fft.hpp"

#include <complex>
#include <span>
#include <vector>

namespace lull {

/// Phase against time through equidistant knots, cubic between them [Catmull & Rom 1974], linear
/// beyond them.
struct PhasePath {
    double step_s = 0.1;       ///< between knots; the first lies at 0 s
    std::vector<double> turns; ///< at the knots, at least two

    /// The fractional turns at 0, sample_s, 2*sample_s, ... [0, 1).
    [[nodiscard]] std::vector<float> fractions(std::size_t count, double sample_s) const;
    [[nodiscard]] double mean_frequency_hz() const;
};

/// Amplitudes of all harmonics in overlapping blocks, for about the cost of one harmonic: samples
/// are folded into one period by their phase, with linear interpolation, and the period is
/// transformed.
class HarmonicBlocks {
  public:
    /// \param hop  samples; blocks of 2*hop under a Hann window begin at its multiples
    explicit HarmonicBlocks(std::size_t hop);

    static constexpr int most_harmonics = 32;
    using Amplitudes = std::vector<std::complex<double>>; ///< of one harmonic, one a block

    /// \param phase  of the fundamental at each sample [turns, 0..1)
    /// \return [harmonic - 1][block]: a * e^(ip) for a * cos(harmonic * 2 pi phase + p)
    [[nodiscard]] std::vector<Amplitudes>
    measure(std::span<const float> samples, std::span<const float> phase, int harmonics) const;

  private:
    std::size_t hop_;
    RealFft fft_;
    std::vector<float> window_; ///< its sum is 2
};

/// One period of a sum of harmonics, which can be read at any phase.
class PeriodTable {
  public:
    /// \param amplitudes  [harmonic - 1]
    explicit PeriodTable(std::span<const std::complex<double>> amplitudes);
    [[nodiscard]] float at(float fraction) const {
        const float x = fraction * points;
        const int i = static_cast<int>(x);
        return table_[static_cast<std::size_t>(i)] +
               (x - static_cast<float>(i)) * rise_[static_cast<std::size_t>(i)];
    }

  private:
    static constexpr int points = 2048;
    std::vector<float> table_, rise_;
};

} // namespace lull
