// SPDX-License-Identifier: GPL-3.0-or-later
//
// Streaming cascade of second-order sections over the channels of a block.
#pragma once

#include "recording/recording.hpp"
#include "signal/sections.hpp"

#include <array>
#include <span>
#include <vector>

namespace lull {

/// Filters block after block and keeps the state between them. A channel's result depends only on
/// its own samples, not on block sizes or other channels. State and coefficients are double: at 60
/// Hz and 48 kHz single precision would raise the noise to -100 dB re full scale.
class SectionFilter {
  public:
    SectionFilter(Sections sections, int channels);

    /// Sets the state as if each channel had always had its first value, so that a record begins
    /// without a transient. Does nothing for an empty block.
    void prime(const Block& block);
    /// Filters in place. \param block  has the channels given to the constructor
    void push(Block& block);
    /// The same for one channel's samples (for a filter of one channel).
    void prime(double first_value);
    void push(std::span<float> samples);

  private:
    static constexpr int lanes = 8;                ///< channels filtered side by side
    struct alignas(lanes * sizeof(double)) State { ///< `two` follows `one` without a gap
        std::array<double, lanes> one{}, two{};
    };
    void push_lanes(std::span<float* const> channels, Frame frames, State* states);

    Sections sections_;
    int channels_;
    Frame at_ = 0;              ///< frames since the stream began
    std::vector<State> states_; ///< [group of lanes][section]
};

/// Filters a whole stretch forward and backward: no phase, twice the attenuation in dB. The ends
/// are extended by odd reflection over pad_frames (limited to samples.size() - 1).
[[nodiscard]] std::vector<float> zero_phase(const Sections& sections,
                                            std::span<const float> samples, std::size_t pad_frames);

} // namespace lull
