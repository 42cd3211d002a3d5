// SPDX-License-Identifier: GPL-3.0-or-later
//
// The template of a series: what its taps have in common on every channel, set against the noise.
#pragma once

#include "detect/event.hpp"
#include "recording/recording.hpp"
#include "signal/band.hpp"

#include <complex>
#include <optional>
#include <span>
#include <vector>

namespace lull {

inline constexpr double clear_confidence = 0.8;  ///< of a series that is searched for again
inline constexpr int clear_taps = 3;             ///< of it, at least
inline constexpr double clear_snr_db = 10.0;     ///< of its best tap, at least
inline constexpr std::size_t most_templates = 3; ///< of different sounds
inline constexpr double same_sound = 0.9; ///< correlation: as its own its template is 1 dB better
inline constexpr double template_longest_s = 0.14; ///< most of a window

/// Spectra of one window over all channels, [channel * bins + bin].
using WindowSpectra = std::vector<std::complex<float>>;

/// The aligned mean of a series' taps over one window on every channel, and the weight of each bin
/// in products of windows: 1 / noise power, less where the taps themselves are noise (Wiener).
/// Product of two windows: sum of weight * Re(a * conj(b)), the likelihood of Gaussian noise [any
/// textbook of detection; e.g. Kay 1998].
struct TapTemplate {
    int series = 0;          ///< number of the one it is made of
    std::vector<int> alike;  ///< numbers of others that sound like it
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
    /// Whether a series is its own, or sounds like it.
    [[nodiscard]] bool covers(int number) const;
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

/// Correlation with a template, 0..1, of a series' clearest tap where it is most like it, the
/// noise's share of the energy taken out. Arguments as of make_template().
[[nodiscard]] double likeness(const TapTemplate& to, const Series& series,
                              std::span<const Event> events, const StretchOf& thinned);

} // namespace lull
