// SPDX-License-Identifier: GPL-3.0-or-later
//
// Changes of scale: gains are changed and sensors exchanged during a session. Factors refer powers
// of any time to the scale of one time, so that they can be averaged.
#pragma once

#include "recording/recording.hpp"
#include "signal/tracks.hpp"

#include <span>
#include <utility>
#include <vector>

namespace lull {

class ScaleChanges {
  public:
    ScaleChanges() = default; ///< none
    /// \param channel    index into recording.channels
    /// \param reference  frame whose scale powers are referred to
    ScaleChanges(const Recording& recording, int channel, Frame reference);

    /// Whether the scale is constant.
    [[nodiscard]] bool none() const { return factors_.size() < 2; }
    /// Converts a power measured at that frame to the scale at the reference. Where a change brings
    /// another unit, only the numbers are converted.
    [[nodiscard]] double factor(Frame frame) const;
    /// Whether the scale changes after `begin` and before `end`, so that what was measured over
    /// both has no scale.
    /// \param settling  frames in which a filter's memory of a jump falls by 30 dB; what begins
    ///                  sooner after a change is disturbed by it too
    [[nodiscard]] bool within(Frame begin, Frame end, Frame settling = 0) const;
    /// The least factor of any time in [begin, end).
    [[nodiscard]] double least_factor(Frame begin, Frame end) const;

  private:
    std::vector<std::pair<Frame, double>> factors_; ///< valid from that frame on, in order of time
};

/// Converts the powers of a track to the scale at the reference of `changes`. Steps in which the
/// scale changes, or which a filter's memory of the change disturbs, become NaN.
/// \param power     [step * bands + band]; step i covers frames [first + i*hop, first + (i+1)*hop)
/// \param settling  see ScaleChanges::within
void refer_powers(std::span<float> power, std::size_t bands, Frame first, Frame hop,
                  const ScaleChanges& changes, Frame settling);

/// Converts a floor made of such powers back to the scale of each step. In a step with two scales
/// the more sensitive one holds.
void unrefer_floor(FloorTrack& floor, const ScaleChanges& changes);

} // namespace lull
