// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults that only show between channels, from events that the channels share: swapped polarity,
// unequal gain, poor mechanical contact.
#pragma once

#include "health/finding.hpp"
#include "recording/recording.hpp"

#include <span>
#include <vector>

namespace lull {

/// Gathers what shared events say of the channels, and judges it. Memory: a few numbers for each
/// event, channel and pair.
class SharedEvents {
  public:
    /// \param comparable  a number each channel: only channels of one number are compared (one
    /// kind,
    ///                    one axis); at least two channels have to share one for anything to be
    ///                    said
    /// \param rate_hz     > 0
    SharedEvents(std::vector<int> comparable, double rate_hz);

    /// Adds one event.
    /// \param stretch      all channels, band-passed, from a little before the event to its end, at
    ///                     most 1 s (more is left out)
    /// \param floor_power  noise floor of each channel in that band, mean square
    void add(const Block& stretch, std::span<const double> floor_power);

    /// Judged over all events; nothing is said of a channel with fewer than five that it shares.
    /// \param from_s, to_s  the stretch of time that the events were taken from
    [[nodiscard]] std::vector<Finding> findings(double from_s, double to_s) const;

  private:
    /// One channel in one event.
    struct Heard {
        bool heard = false; ///< at least 6 dB over its floor
        double level_db = 0.0, floor_db = 0.0;
        double high_share = 0.0; ///< of the power, from differences of neighbouring samples: 0..1
        double agreement = 0.0;  ///< best correlation with another channel, 0..1
        double sign = 0.0;       ///< sum of the signs of clear correlations with the others
        int clear = 0;           ///< how many those were
    };
    void compare(const Block& stretch, std::vector<Heard>& event) const;
    [[nodiscard]] double other_median(const std::vector<Heard>& event, std::size_t channel,
                                      double Heard::*what) const;
    void judge_polarity(std::size_t channel, Finding base, std::vector<Finding>& all) const;
    void judge_gain(std::size_t channel, Finding base, std::vector<Finding>& all) const;
    void judge_contact(std::size_t channel, Finding base, std::vector<Finding>& all) const;

    std::vector<int> comparable_;
    double rate_hz_;
    std::vector<std::vector<Heard>> events_;
};

} // namespace lull
