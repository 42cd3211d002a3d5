// SPDX-License-Identifier: GPL-3.0-or-later
//
// Hum near the mains' frequency, of the mains or of a machine: its frequency, level and harmonics.
//
// The channel is brought down to about 1 kHz; spectra of 2 s, every second, are averaged over 16 s,
// in which a generator's speed changes little. The fundamental is looked for within 3 Hz of 50 and
// of 60 Hz. Power round each harmonic is set against the bins beside it; the frequency comes from
// how far the phase turns from one second to the next, which is far finer than a bin. A unit of
// work's figures are means over it; a change of more than 1 Hz within seconds smears them.
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
    double power = 0.0;        ///< mean square of the line, noise taken off
    double noise = 0.0;        ///< mean square that the noise beside it has in as many bins
    double frequency_hz = 0.0; ///< from the phase; mean by power
    double steadiness = 0.0; ///< 0..1: how much of the power turns in phase; a tone 1, noise near 0
};

/// What one unit of work showed, for mains of 50 Hz [0] and of 60 Hz [1].
struct HumUnit {
    Frame first = 0;
    Frame count = 0;
    int spectra = 0;
    std::array<std::array<HumLine, hum_harmonics>, 2> lines; ///< [mains][harmonic - 1]
};

/// Follows the hum of one channel through one unit of work.
class HumMeter {
  public:
    explicit HumMeter(double rate_hz);
    ~HumMeter();
    HumMeter(HumMeter&&) noexcept;

    /// \param samples  that follow those of the call before
    void push(std::span<const float> samples);
    /// The averages; none when there was less than 4 s.
    [[nodiscard]] std::optional<HumUnit> finish(Frame first, Frame count) const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// What the units say together.
struct Hum {
    double frequency_hz = 0.0;                          ///< of the fundamental
    double power = 0.0;                                 ///< mean square of all harmonics found
    std::array<double, hum_harmonics> harmonic_power{}; ///< 0: not found
    double above_noise_db = 0.0; ///< strongest harmonic over the noise in 3 Hz beside it
    double lowest_hz = 0.0, highest_hz = 0.0; ///< of the fundamental, over the units
};

/// The stronger of hums_of(); none where there is none.
[[nodiscard]] std::optional<Hum> hum_of(std::span<const HumUnit> units);
/// What stands out by 6 dB near 50 and near 60 Hz, the stronger first.
[[nodiscard]] std::vector<Hum> hums_of(std::span<const HumUnit> units);

/// How far the mains strays from its nominal frequency: 2 %, as EN 50160 (4.2.1) allows a grid that
/// stands alone for 95 % of a week; one that is connected to others keeps within 1 %.
inline constexpr double mains_tolerance = 0.02;
/// Whether a hum is the mains': by the frequency that the session states, else by 50 or 60 Hz. What
/// is further off is the tone of a machine.
[[nodiscard]] bool is_mains(const Hum& hum, std::optional<double> mains_hz);

} // namespace lull
