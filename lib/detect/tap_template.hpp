// SPDX-License-Identifier: GPL-3.0-or-later
//
// The template of a series: what its taps have in common on every channel, set against the noise.
#pragma once

#include "detect/event.hpp"
#include "recording/recording.hpp"
#include "signal/band.hpp"
#include "signal/sections.hpp"

#include <complex>
#include <optional>
#include <span>
#include <vector>

namespace lull {

inline constexpr double clear_confidence = 0.8; ///< of a series that is searched for again
inline constexpr int clear_taps = 3;            ///< of it, at least
inline constexpr double clear_snr_db = 10.0;    ///< of its best tap, at least
inline constexpr std::size_t most_templates = 3;
inline constexpr double template_longest_s = 0.14; ///< most of a window
inline constexpr double template_margin_s = 0.05;  ///< by which the whitened template outlasts it

/// Spectra of one window over all channels, [channel * bins + bin].
using WindowSpectra = std::vector<std::complex<float>>;

/// The aligned mean of a series' taps over one window on every channel, and the weight of each bin
/// in products of windows: 1 / noise power, less where the taps themselves are noise (Wiener).
/// Product of two windows: sum of weight * Re(a * conj(b)), the likelihood of Gaussian noise [any
/// textbook of detection; e.g. Kay 1998].
struct TapTemplate {
    int series = 0;          ///< number
    double confidence = 0.0; ///< of the series
    double rate_hz = 0.0;    ///< of the thinned streams
    std::size_t length = 0;  ///< samples of the window
    std::size_t size = 0;    ///< of the transforms of windows
    int channels = 0;
    int taps = 0;       ///< that it is the mean of
    double onset = 0.0; ///< samples from the window's begin to the event's onset
    std::vector<std::optional<double>> delay_s; ///< a channel each: its onset after the event's
    WindowSpectra mean;
    std::vector<float> weight; ///< as mean; 0 outside the band and on silent channels
    double energy = 0.0;       ///< product of the mean with itself
    double noise_energy = 0.0; ///< of a window of noise around the series with itself (median)
    double noise_sigma = 0.0;  ///< standard deviation of its product with the mean

    [[nodiscard]] std::size_t bins() const { return size / 2 + 1; }
};

/// The series that are clear enough to search for: surest first, then earliest.
[[nodiscard]] std::vector<Series> clear_series(std::span<const Series> series,
                                               std::span<const Event> events);

/// \param events   all of them, numbered from 1 in order
/// \param thinned  band-passed streams at `rate_hz`, frames counted there; delivers what lies
///                 outside the recording as 0
/// \return none when fewer than two taps are alike
[[nodiscard]] std::optional<TapTemplate> make_template(const Series& series,
                                                       std::span<const Event> events, int channels,
                                                       double rate_hz, Band band,
                                                       const StretchOf& thinned);

/// The correlating filter of a channel in time: convolving a raw, thinned stream with it reversed
/// gives the channel's share of the product at each sample. Begins `margin` samples before the
/// window, and is length + 2 * margin long.
/// \param band_pass  that the template's streams went through, and the raw stream did not
[[nodiscard]] std::vector<float> correlating_filter(const TapTemplate& from, int channel,
                                                    std::size_t margin, const Sections& band_pass,
                                                    double full_rate_hz);

} // namespace lull
