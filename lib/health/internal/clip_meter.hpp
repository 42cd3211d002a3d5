// SPDX-License-Identifier: GPL-3.0-or-later
//
// Clipping: samples that pile up at one extreme value.
#pragma once

#include "health/health.hpp"

#include <span>

namespace lull {

/// Follows one side of a channel: the largest values with sign 1, the smallest with sign -1.
class ClipMeter {
  public:
    explicit ClipMeter(float sign) : sign_(sign) {}

    /// Whether samples up to `extreme` (times the sign) need the detailed test.
    [[nodiscard]] bool concerns(float extreme) const { return sign_ * extreme >= near_ * level_; }
    void look(std::span<const float> samples, Frame first);

    /// \param least_step  smallest difference between samples: at most the recorder's quantum
    [[nodiscard]] bool clipped(double least_step) const;
    [[nodiscard]] double level() const { return static_cast<double>(level_); }
    [[nodiscard]] const StretchList& runs() const { return runs_; }

  private:
    void raise(float level);

    static constexpr float near_ = 0.99F; // of the extreme: samples above this are near it
    float sign_;
    float level_ = 0.0F;  // extreme so far
    float second_ = 0.0F; // largest value under it
    StretchList runs_;    // samples exactly at the extreme
    Frame longest_ = 0, run_ = 0, last_ = -2;
    std::int64_t near_count_ = 0; // samples just under it
    std::int64_t second_count_ = 0;
};

} // namespace lull
