// SPDX-License-Identifier: GPL-3.0-or-later
//
// Dropouts that repeat one value.
#pragma once

#include "health/health.hpp"

#include <span>
#include <vector>

namespace lull {

/// Runs of one value. A constant chunk starts a detailed search for the begin and end of its run.
class RunMeter {
  public:
    static constexpr std::size_t chunk = 16;
    explicit RunMeter(double rate_hz);

    /// Reports that chunk [at, at + chunk) of `piece` holds one value. Ignored within a known run.
    void constant_chunk(std::span<const float> piece, std::size_t at, Frame first);
    /// Called after each piece: follows an open run to its end, and keeps the tail.
    void end_piece(std::span<const float> piece, Frame first, double difference_power, double peak);
    /// Ends the input and closes an open run.
    void finish(double least_step);

    StretchList zeroed, held;

  private:
    struct Candidate {
        Stretch stretch;
        float value = 0.0F;
        double difference_power = 0.0; ///< mean square of differences near it
        double peak = 0.0;
    };
    /// Extends the open run while this piece has its value.
    void follow(std::span<const float> piece, Frame first);
    void end_run();

    Frame least_run_;
    bool open_ = false;
    Candidate run_;
    std::vector<Candidate> ended_; ///< in this piece; its activity is known only at its end
    float tail_value_ = 0.0F;      // the last samples of the piece before all had this value
    Frame tail_count_ = 0, tail_end_ = -1;
    std::vector<Candidate> candidates_; ///< of a unit of work: fewer than 100,000 fit into one
};

} // namespace lull
