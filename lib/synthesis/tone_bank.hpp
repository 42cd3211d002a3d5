// SPDX-License-Identifier: GPL-3.0-or-later
//
// Harmonics of a machine or of the mains, whose pitch and mix drift.
#pragma once

#include "conventions.hpp"
#include "synthesis/random.hpp"

#include <span>
#include <vector>

namespace lull {

/// The periodic sound of one channel: two tables of one period, with a mix that drifts between
/// them.
class ToneBank {
  public:
    /// \param fundamental_hz  without drift
    /// \param drift           largest change of the fundamental, relative
    /// \param random          for pitch and tables; channels with the same key have the same pitch
    /// \param channel         draws the strength of each harmonic on this channel
    /// \param delay_s         from the machine to the sensor
    /// \param highest_hz      upper limit of the harmonics
    ToneBank(double fundamental_hz, double drift, const Random& random, std::uint64_t channel,
             double delay_s, double highest_hz);

    /// Adds gain times frames [first, first + out.size()). The gain changes linearly from one end
    /// to the other.
    void add(Frame first, double rate_hz, double from_gain, double to_gain,
             std::span<float> out) const;
    /// Mean power, with each harmonic weighted by weights[round(f * (2 * bins - 2) / rate)].
    [[nodiscard]] double weighted_power(std::span<const float> weights, double rate_hz) const;
    void scale(double gain);

  private:
    [[nodiscard]] double turns(double time_s) const; ///< phase in periods

    double fundamental_hz_, drift_, delay_s_;
    double wander_[3][3]; ///< share, angular speed, phase
    double mix_speed_, mix_phase_;
    std::vector<double> amplitudes_[2];
    std::vector<float> tables_[2];
};

} // namespace lull
