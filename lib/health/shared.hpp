// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults that show only between channels, from events that the channels share: reversed polarity,
// unequal gain, poor mechanical contact, a sensor that points another way.
#pragma once

#include "health/finding.hpp"
#include "recording/recording.hpp"

#include <span>
#include <vector>

namespace lull {

/// Measurements of one channel in one event.
struct SharedEvent {
    bool heard = false; ///< at least 6 dB over its floor
    double level_db = 0.0, floor_db = 0.0;
    /// share of high frequencies in the power, from sample differences: 0..1
    double high_share = 0.0;
    double agreement = 0.0; ///< best correlation with another channel, 0..1
    double sign = 0.0;      ///< sum of the signs of the clear correlations with other channels
    int clear = 0;          ///< number of clear correlations
};

/// Collects measurements of shared events, and judges the channels by them. Memory: a few numbers
/// for each event and channel.
class SharedEvents {
  public:
    using Event = std::vector<SharedEvent>; ///< one a channel

    /// \param comparable  a group number for each channel: only channels of one group are compared
    ///                    (one kind, one axis, one unit); negative: none
    /// \param rate_hz     > 0
    SharedEvents(std::vector<int> comparable, double rate_hz);

    /// Measures one event. Safe to call from several threads.
    /// \param stretch      all channels, band-passed, from a little before the event to its end;
    ///                     only the first 1 s is used
    /// \param floor_power  noise floor of each channel in that band, mean square
    /// \param scale_db     added to the levels of each channel, to correct known differences of
    ///                     gain
    [[nodiscard]] Event measure(const Block& stretch, std::span<const double> floor_power,
                                std::span<const double> scale_db) const;
    void add(Event event) { events_.push_back(std::move(event)); }

    /// Judges all events. A channel that shares fewer than five has no findings.
    /// \param from_s, to_s  the time that the events were taken from
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
