// SPDX-License-Identifier: GPL-3.0-or-later
//
// Gains are turned and sensors exchanged during a session: the factors that refer powers from any
// time to the scale of one time, so that they can be averaged.
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

    /// Whether the scale is the same all the time.
    [[nodiscard]] bool none() const { return factors_.size() < 2; }
    /// A power measured at that frame times this is the power as the scale at the reference reads
    /// it. Where a change brings another unit, only the numbers are put right.
    [[nodiscard]] double factor(Frame frame) const;
    /// Whether the scale changes after `begin` and before `end`: what was measured over both is
    /// neither.
    /// \param settling  frames in which a filter's memory of a jump falls by 30 dB: what begins
    ///                  sooner after a change is disturbed by it too
    [[nodiscard]] bool within(Frame begin, Frame end, Frame settling = 0) const;
    /// The least factor of any time in [begin, end).
    [[nodiscard]] double least_factor(Frame begin, Frame end) const;

  private:
    std::vector<std::pair<Frame, double>> factors_; ///< from that frame on, in order of time
};

/// Powers of a track as the reference of `changes` reads them. Steps in which the scale changes, or
/// a filter still remembers that it did, become not a number.
/// \param power  [step * bands + band]; step i holds frames [first + i*hop, first + (i+1)*hop)
/// \param settling  see ScaleChanges::within
void refer_powers(std::span<float> power, std::size_t bands, Frame first, Frame hop,
                  const ScaleChanges& changes, Frame settling);

/// The way back for a floor that was made of referred powers: as the scale of each step reads it,
/// and as the more sensitive one does in a step of two.
void unrefer_floor(FloorTrack& floor, const ScaleChanges& changes);

} // namespace lull
