// SPDX-License-Identifier: GPL-3.0-or-later
//
// Gains are turned and sensors exchanged during a session: the factors that refer powers from any
// time to the scale of one time, so that they can be averaged.
#pragma once

#include "recording/recording.hpp"

#include <utility>
#include <vector>

namespace lull {

class ScaleChanges {
  public:
    ScaleChanges() = default; ///< none
    /// \param channel    index into recording.channels
    /// \param reference  frame whose scale powers are referred to
    ScaleChanges(const Recording& recording, int channel, Frame reference);

    /// Whether the scale is the same all the time.
    [[nodiscard]] bool none() const { return factors_.size() < 2; }
    /// A power measured at that frame times this is the power as the scale at the reference reads
    /// it. Where a change brings another unit, only the numbers are put right.
    [[nodiscard]] double factor(Frame frame) const;
    /// Whether the scale changes after `begin` and before `end`: what was measured over both is
    /// neither.
    [[nodiscard]] bool within(Frame begin, Frame end) const;

  private:
    std::vector<std::pair<Frame, double>> factors_; ///< from that frame on, in order of time
};

/// Refers tracks of powers to the reference of `changes`. Steps in which the scale changes become
/// not a number.
/// \param power  [band][step]; step i holds frames [first + i*hop, first + (i+1)*hop)
void refer_powers(std::vector<std::vector<float>>& power, Frame first, Frame hop,
                  const ScaleChanges& changes);

} // namespace lull
