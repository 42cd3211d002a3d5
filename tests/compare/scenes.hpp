// SPDX-License-Identifier: GPL-3.0-or-later
//
// A knock heard by two channels, made in the frequency domain so that its delay, its spectrum and
// the noise's are known exactly, and the general bound on the delay with them.
#pragma once

#include "compare/delay.hpp"
#include "signal/fft.hpp"

#include <cmath>
#include <complex>
#include <numbers>
#include <random>
#include <span>
#include <vector>

namespace lull::test {

inline constexpr double rate_hz = 16000.0;
inline constexpr Band band{100.0, 1000.0};
inline constexpr double onset_s = 0.02; ///< in the event's stretch, on channel a
inline constexpr double event_s = 0.12; ///< length of the event's stretch
inline constexpr double noise_s = 0.8;  ///< length of the stretch before it
inline constexpr double level_s = 0.1;  ///< over which the SNR of a knock is meant
inline constexpr double longest_s = 0.01;
inline constexpr std::size_t made_frames = 16384; ///< of one channel: noise, event, rest

/// What arrives: a sound that decays, 1/((1/tau + i w)^2 + w0^2), with echoes.
struct Knock {
    double frequency_hz = 300.0, decay_s = 0.02;
};

inline bool inside(double frequency_hz) {
    return frequency_hz >= band.low_hz && frequency_hz <= band.high_hz;
}

inline std::complex<double> spectrum_of(Knock knock, double frequency_hz) {
    if (!inside(frequency_hz)) return 0.0;
    const double w0 = 2.0 * std::numbers::pi * knock.frequency_hz;
    const std::complex<double> s(1.0 / knock.decay_s, 2.0 * std::numbers::pi * frequency_hz);
    return w0 / (s * s + w0 * w0);
}

/// Energy of the knock in the band, in the units of an integral over time.
inline double energy_of(Knock knock) {
    double sum = 0.0;
    const double step_hz = 1.0;
    for (double f = band.low_hz; f <= band.high_hz; f += step_hz)
        sum += 2.0 * std::norm(spectrum_of(knock, f)) * step_hz;
    return sum;
}

/// An arrival: delay after the onset of channel a, and amplitude.
struct Path {
    double after_s = 0.0, amplitude = 1.0;
};

/// One channel: noise of power 1 in the band, and the knock at the SNR asked for (mean power over
/// level_s over the noise's power) by each of the paths.
inline std::vector<float> channel(Knock knock, double snr_db, std::span<const Path> paths,
                                  std::mt19937_64& random) {
    const RealFft fft(made_frames);
    std::vector<std::complex<float>> bins(fft.bins());
    const double bin_hz = rate_hz / static_cast<double>(made_frames);
    double in_band = 0.0;
    for (std::size_t k = 0; k < bins.size(); ++k)
        in_band += inside(bin_hz * static_cast<double>(k)) ? 1.0 : 0.0;
    std::normal_distribution<double> normal(0.0, std::sqrt(0.25 / in_band));
    const double amplitude = std::sqrt(db_to_power(snr_db) * level_s / energy_of(knock));
    for (std::size_t k = 0; k < bins.size(); ++k) {
        const double f = bin_hz * static_cast<double>(k);
        if (!inside(f)) continue;
        std::complex<double> value(normal(random), normal(random));
        if (snr_db > -100.0)
            for (const Path& path : paths) {
                const double phase =
                    -2.0 * std::numbers::pi * f * (noise_s + onset_s + path.after_s);
                value += amplitude * path.amplitude * bin_hz * spectrum_of(knock, f) *
                         std::polar(1.0, phase);
            }
        bins[k] = std::complex<float>(value);
    }
    std::vector<float> samples(made_frames);
    fft.inverse(bins, samples);
    return samples;
}

inline DelayEstimate estimate(std::span<const float> a, std::span<const float> b) {
    const auto split = static_cast<std::size_t>(noise_s * rate_hz);
    const auto length = static_cast<std::size_t>(event_s * rate_hz);
    return delay_between({a.subspan(split, length), b.subspan(split, length), a.first(split),
                          b.first(split), rate_hz, band, longest_s});
}

/// Standard deviation by the general bound, 1/var = 2 T integral (2 pi f)^2 g df.
inline double bound_s(Knock knock, double snr_a_db, double snr_b_db, double observed_s) {
    const double step_hz = 0.5, energy = energy_of(knock), width_hz = band.high_hz - band.low_hz;
    double sum = 0.0;
    for (double f = band.low_hz; f <= band.high_hz; f += step_hz) {
        // Density of the knock over that of the noise, both over the time observed.
        const double shape =
            2.0 * std::norm(spectrum_of(knock, f)) / energy * level_s / observed_s * width_hz;
        const double ra = shape * db_to_power(snr_a_db), rb = shape * db_to_power(snr_b_db);
        const double w = 2.0 * std::numbers::pi * f;
        sum += w * w * ra * rb / (1.0 + ra + rb) * step_hz;
    }
    return 1.0 / std::sqrt(2.0 * observed_s * sum);
}

} // namespace lull::test
