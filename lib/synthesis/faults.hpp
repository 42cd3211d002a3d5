// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults of sensors, cables and recorders.
#pragma once

#include "conventions.hpp"
#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"
#include "synthesis/tone_bank.hpp"

#include <span>
#include <vector>

namespace lull {

class Faults {
  public:
    Faults(const Plan& plan, Random random);

    /// Whether a channel can be an event's best: not dead, no samples lost.
    [[nodiscard]] bool usable(std::size_t channel) const;
    /// True time, in frames, at which a recorder with a wrong clock takes its frame `frame`.
    [[nodiscard]] double true_frame(std::size_t channel, Frame frame) const;
    [[nodiscard]] bool clock_is_wrong(std::size_t channel) const;
    /// Adds mains hum to frames [first, first + out.size()).
    void add_hum(std::size_t channel, Frame first, std::span<float> out) const;
    [[nodiscard]] double hum_power(std::size_t channel, Frame frame) const; ///< in the band
    /// Applies polarity, clipping, dropouts and death of a sensor, in this order.
    void spoil(std::size_t channel, Frame first, std::span<float> out) const;

  private:
    struct Hum {
        std::size_t fault;
        ToneBank tones;
        double in_band;
    };
    [[nodiscard]] bool is_on(const PlanFault& fault, std::size_t channel) const;
    /// The part of [first, first + count) in which the fault holds, as indices.
    [[nodiscard]] std::pair<std::size_t, std::size_t> held(const PlanFault& fault, Frame first,
                                                           std::size_t count) const;
    void drop(const PlanFault& fault, std::size_t index, Frame first, std::span<float> out) const;

    const Plan& plan_;
    Random random_;
    std::vector<Hum> hums_;
};

} // namespace lull
