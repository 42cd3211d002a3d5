// SPDX-License-Identifier: GPL-3.0-or-later
//
// All state that HealthMeter keeps of one channel.
#pragma once

#include "health/health.hpp"
#include "health/internal/clip_meter.hpp"
#include "health/internal/jump_meter.hpp"
#include "health/internal/repeat_meter.hpp"
#include "health/internal/run_meter.hpp"
#include "health/internal/spectrum_probe.hpp"
#include "health/internal/weighted_meter.hpp"

#include <optional>

namespace lull {

struct HealthMeter::ChannelMeter {
    ChannelMeter(double rate_hz, bool a_weighted);

    /// Measures samples without missing ones. Pieces follow one another, possibly with gaps.
    void measure(std::span<const float> piece, Frame first);
    [[nodiscard]] ChannelHealth finish();

    ChannelHealth health;

  private:
    /// Sums over a part of a step.
    struct Sums {
        double sum = 0.0, squares = 0.0, differences = 0.0;
        float high = 0.0F, low = 0.0F;
        Frame frames = 0;
    };
    void measure_part(std::span<const float> piece, std::size_t begin, std::size_t end,
                      Frame first);
    void look_at_steps(std::span<const float> samples);
    void end_step();
    void weight(std::span<const float> piece, Frame first);

    HumMeter hum_;
    std::optional<WeightedMeter> weighted_;
    std::vector<HealthStep> weighted_steps_; // their A-weighted part, which is complete later
    ClipMeter high_{1.0F}, low_{-1.0F};
    RunMeter runs_;
    RepeatMeter repeats_;
    JumpMeter jumps_;
    SpectrumProbe probe_;
    Sums now_;
    std::int64_t step_ = -1;        ///< number on the raster from frame 0
    double difference_power_ = 0.0; ///< mean square of the differences, with a slow decay
    float last_ = 0.0F;
    Frame last_end_ = -1;
};

} // namespace lull
