// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults that only show between channels, from events that the channels share: swapped polarity,
// unequal gain, poor mechanical contact, a sensor that points another way.
#pragma once

#include "health/finding.hpp"
#include "recording/recording.hpp"

#include <span>
#include <vector>

namespace lull {

/// One channel in one event.
struct SharedEvent {
    bool heard = false; ///< at least 6 dB over its floor
    double level_db = 0.0, floor_db = 0.0;
    double high_share = 0.0; ///< of the power, from differences of neighbouring samples: 0..1
    double agreement = 0.0;  ///< best correlation with another channel, 0..1
    double sign = 0.0;       ///< sum of the signs of clear correlations with the others
    int clear = 0;           ///< how many those were
};

/// Gathers what shared events say of the channels, and judges it. Memory: a few numbers for each
/// event and channel.
class SharedEvents {
  public:
    using Event = std::vector<SharedEvent>; ///< one a channel

    /// \param comparable  a number each channel: only channels of one number are compared (one
    ///                    kind, one axis, one unit); a negative one: with none
    /// \param rate_hz     > 0
    SharedEvents(std::vector<int> comparable, double rate_hz);

    /// Measures one event. Safe to call from several threads.
    /// \param stretch      all channels, band-passed, from a little before the event to its end, at
    ///                     most 1 s (more is left out)
    /// \param floor_power  noise floor of each channel in that band, mean square
    /// \param scale_db     to be added to the levels of each channel, so that gains that are known
    ///                     to differ do not count
    [[nodiscard]] Event measure(const Block& stretch, std::span<const double> floor_power,
                                std::span<const double> scale_db) const;
    void add(Event event) { events_.push_back(std::move(event)); }

    /// Judged over all events; nothing is said of a channel with fewer than five that it shares.
    /// \param from_s, to_s  the stretch of time that the events were taken from
    [[nodiscard]] std::vector<Finding> findings(double from_s, double to_s) const;

  private:
    void compare(const Block& stretch, Event& event) const;
    [[nodiscard]] bool comparable(std::size_t a, std::size_t b) const;
    [[nodiscard]] int others_heard(const Event& event, std::size_t channel) const;
    [[nodiscard]] double other_median(const Event& event, std::size_t channel,
                                      double SharedEvent::*what) const;
    void judge_polarity(std::size_t channel, Finding base, std::vector<Finding>& all) const;
    void judge_gain(std::size_t channel, Finding base, std::vector<Finding>& all) const;
    void judge_seat(std::size_t channel, Finding base, std::vector<Finding>& all) const;

    std::vector<int> comparable_;
    double rate_hz_;
    std::vector<Event> events_;
};

} // namespace lull
