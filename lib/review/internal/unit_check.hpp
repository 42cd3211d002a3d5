// SPDX-License-Identifier: GPL-3.0-or-later
//
// Whether a unit's result from a file can be one of this recording. Its digests tell damage, not
// intent: whoever writes a unit file writes them too, and what follows uses channels and kinds as
// indices.
#pragma once

#include "recording/units.hpp"
#include "review/settings.hpp"
#include "review/unit_pass.hpp"

#include <vector>

namespace lull {

/// Checks results against what a pass over this recording, with these settings, gives. One for a
/// recording: some of its figures take the making of a filter bank.
class UnitCheck {
  public:
    /// \param recording  outlives the check
    UnitCheck(const Recording& recording, const Settings& settings, const Wanted& wanted);

    /// Whether all of it is in place: channels, kinds, counts, sizes, times within the unit and in
    /// order, numbers that are numbers.
    [[nodiscard]] bool passes(const UnitResult& result, const Unit& unit) const;

  private:
    [[nodiscard]] bool passes(const ChannelHealth& health, const Unit& unit) const;
    [[nodiscard]] bool passes(const StretchList& list) const;
    [[nodiscard]] bool passes(const Course& course, const Unit& unit) const;
    [[nodiscard]] bool passes(const ScoreTrack& scores, const Unit& unit) const;
    [[nodiscard]] bool passes(const Arrival& arrival, const Unit& unit) const;
    [[nodiscard]] bool passes(const Shape& shape) const;

    const Recording* recording_;
    Settings settings_;
    Wanted wanted_;
    std::vector<double> mid_hz_; ///< of the noise table
    std::size_t spectrum_bands_; ///< of an arrival's band_db
    Frame course_hop_, score_hop_, health_step_;
};

} // namespace lull
