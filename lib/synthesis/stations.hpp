// SPDX-License-Identifier: GPL-3.0-or-later
//
// Sensors that are moved: each channel has a sequence of stations.
#pragma once

#include "conventions.hpp"
#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"

#include <functional>
#include <span>
#include <vector>

namespace lull {

/// A sensor is in hand for so long before it stands at its new place.
inline constexpr double handling_s = 2.5;

class Stations {
  public:
    /// \param random  for handling noise
    Stations(const Plan& plan, const Random& random);

    /// The plan with one channel for each station, named as its channel: first the plan's channels
    /// at their first stations, then every later station. Paths, contacts and noise belong to
    /// stations. Two stations of one channel share only name, recorder and faults.
    [[nodiscard]] const Plan& plan() const { return plan_; }
    /// The station of a channel at a time: index into plan().channels.
    [[nodiscard]] std::size_t at(std::size_t channel, double time_s) const;

    [[nodiscard]] std::size_t channel_of(std::size_t station) const {
        return stations_[station].channel;
    }

    /// Calls each for the parts of [first, first + frames) between a channel's changes, in order,
    /// with station, offset and length.
    void split(std::size_t channel, Frame first, std::size_t frames,
               const std::function<void(std::size_t station, std::size_t offset,
                                        std::size_t count)>& each) const;
    /// Replaces the signal of a sensor in hand by handling noise.
    void handle(std::size_t channel, Frame first, std::span<float> out) const;

  private:
    struct Station {
        std::size_t channel = 0;
        double from_s = 0.0;
        std::vector<float> handling; ///< before from_s
    };
    Plan plan_;
    std::vector<Station> stations_;                 ///< as plan_.channels
    std::vector<std::vector<std::size_t>> visited_; ///< one list a channel, in order of time
};

} // namespace lull
