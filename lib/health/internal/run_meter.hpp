// SPDX-License-Identifier: GPL-3.0-or-later
//
// Dropouts that repeat one value.
#pragma once

#include "health/health.hpp"

#include <span>
#include <vector>

namespace lull {

/// Runs of one value: a chunk that is constant starts a closer look at where the run began and
/// ends.
class RunMeter {
  public:
    static constexpr std::size_t chunk = 16;
    explicit RunMeter(double rate_hz);

    /// The chunk [at, at + chunk) of `piece` holds one value. Ignored within a run of it.
    void constant_chunk(std::span<const float> piece, std::size_t at, Frame first);
    /// Called for every piece in the end: follows an open run to where it stops, keeps the tail.
    void end_piece(std::span<const float> piece, Frame first, double difference_power, double peak);
    /// Nothing follows; closes an open run.
    void finish(double least_step);

    StretchList zeroed, held;

  private:
    struct Candidate {
        Stretch stretch;
        float value = 0.0F;
        double difference_power = 0.0; ///< mean square of differences near it
        double peak = 0.0;
    };
    /// Lengthens the open run as far as this piece keeps its value.
    void follow(std::span<const float> piece, Frame first);
    void end_run();

    Frame least_run_;
    bool open_ = false;
    Candidate run_;
    std::vector<Candidate> ended_; ///< in this piece, of which only its end tells how lively it is
    float tail_value_ = 0.0F;      // the last samples of the piece before, all of this value
    Frame tail_count_ = 0, tail_end_ = -1;
    std::vector<Candidate> candidates_; ///< of a unit of work: fewer than 100,000 fit in one
};

} // namespace lull
