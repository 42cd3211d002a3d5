// SPDX-License-Identifier: GPL-3.0-or-later
//
// Hum near the mains frequency, from the mains or a machine: its frequency, level and harmonics.
// The channel is decimated to about 1 kHz. Spectra of 2 s, every second, are averaged over 16 s, in
// which a generator's speed changes little. The fundamental is searched for within 3 Hz of 50 Hz
// and of 60 Hz. The power round each harmonic is compared with the bins beside it. The frequency
// comes from the phase advance from one second to the next, which resolves far less than a bin. The
// results of a unit of work are means over it; a change of more than 1 Hz within seconds smears
// them.
#pragma once

#include "conventions.hpp"

#include <array>
#include <memory>
#include <optional>
#include <span>
#include <vector>

namespace lull {

inline constexpr int hum_harmonics = 8;
inline constexpr std::array<double, 2> mains_frequencies_hz{50.0, 60.0};

/// One harmonic over one unit of work.
struct HumLine {
    double power = 0.0;        ///< mean square of the line, without the noise
    double noise = 0.0;        ///< mean square of the noise beside it, in as many bins
    double frequency_hz = 0.0; ///< from the phase; mean weighted by power
    double steadiness = 0.0;   ///< 0..1: coherence of the phase; a tone has 1, noise about 0
};

/// Results of one unit of work, for mains of 50 Hz [0] and of 60 Hz [1].
struct HumUnit {
    Frame first = 0;
    Frame count = 0;
    int spectra = 0;
    std::array<std::array<HumLine, hum_harmonics>, 2> lines; ///< [mains][harmonic - 1]
};

/// Measures the hum of one channel over one unit of work.
class HumMeter {
  public:
    explicit HumMeter(double rate_hz);
    ~HumMeter();
    HumMeter(HumMeter&&) noexcept;

    /// \param samples  must follow those of the last call
    void push(std::span<const float> samples);
    /// The averages; empty after less than 4 s.
    [[nodiscard]] std::optional<HumUnit> finish(Frame first, Frame count) const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// Hum of the whole recording.
struct Hum {
    double frequency_hz = 0.0; ///< of the fundamental
    double power = 0.0;        ///< mean square of all harmonics that were found
    std::array<double, hum_harmonics> harmonic_power{}; ///< 0: harmonic not found
    double above_noise_db = 0.0; ///< strongest harmonic over the noise within 3 Hz beside it
    double lowest_hz = 0.0, highest_hz = 0.0; ///< range of the fundamental over the units
};

/// The stronger of hums_of(); empty without any.
[[nodiscard]] std::optional<Hum> hum_of(std::span<const HumUnit> units);
/// Hums that stand out by 6 dB near 50 Hz and near 60 Hz, the stronger first.
[[nodiscard]] std::vector<Hum> hums_of(std::span<const HumUnit> units);

/// Largest deviation of the mains from its nominal frequency: 2 %, which EN 50160 (4.2.1) allows an
/// isolated grid for 95 % of a week. A grid that is connected to others stays within 1 %.
inline constexpr double mains_tolerance = 0.02;
/// Whether a hum comes from the mains: near the frequency that the session states, else near 50 or
/// 60 Hz. Further off it is the tone of a machine.
[[nodiscard]] bool is_mains(const Hum& hum, std::optional<double> mains_hz);

} // namespace lull
