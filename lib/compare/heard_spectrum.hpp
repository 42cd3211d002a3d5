// SPDX-License-Identifier: GPL-3.0-or-later
//
// What one channel heard of an event, as a spectrum over its noise.
#pragma once

#include "signal/band.hpp"

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// The bins of a transform within a band: [first, end).
struct Bins {
    std::size_t first = 0, end = 0;
    [[nodiscard]] std::size_t count() const { return end - first; }
};

/// Values are kept for whole groups of so many bins, zeros after the last: bins that vector
/// instructions handle side by side.
constexpr std::size_t bin_lanes = 8;

/// Room for one transform after the other.
struct TransformRoom {
    std::vector<float> samples;
    std::vector<std::complex<float>> bins;
    std::vector<double> sums;
};

/// Energy of noise against frequency, a sample of it.
struct NoiseSpectrum {
    double bin_hz = 1.0;
    std::vector<float> energy; ///< smoothed; empty when there was no noise to tell
};

/// \param noise         may be empty
/// \param piece_frames  >= 1, length of the pieces over which energies are averaged
[[nodiscard]] NoiseSpectrum noise_spectrum(std::span<const float> noise, std::size_t piece_frames,
                                           double rate_hz, TransformRoom& room);

/// One channel's part in delays, made once and set against every other channel. Vectors hold the
/// bins within the band from bins.first on.
struct HeardSpectrum {
    double rate_hz = 0.0;
    double frames = 0.0;  ///< of the stretch: the sum of its window's squares
    std::size_t size = 0; ///< of its transform
    Bins bins;
    std::vector<float> real, imaginary; ///< of the stretch
    std::vector<float> snr;             ///< of each bin over the noise, both smoothed, >= 0
    /// What the likelihood of a delay weighs the spectrum by, so that conj(A) B / (1 + r_a + r_b)
    /// of two channels is g exp(-i phase) where the event is clear: E|conj(A) B| holds the signals'
    /// share of the energies, which is put back.
    std::vector<float> weight;
};

/// \param room    its samples hold the stretch times its window, then zeros: the transform's size
/// \param frames  sum of the window's squares
void hear_spectrum(HeardSpectrum& heard, TransformRoom& room, double frames,
                   const NoiseSpectrum& noise, double rate_hz, Band band);

} // namespace lull
