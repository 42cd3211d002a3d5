// SPDX-License-Identifier: GPL-3.0-or-later
//
// Stretches of all channels, thinned out to about 4 kHz.
#pragma once

#include "recording/recording.hpp"
#include "review/stretch.hpp"
#include "signal/thinner.hpp"

#include <vector>

namespace lull {

/// Delivers exactly what is asked for, frames counted in the thinned stream: 0 where the recording
/// has nothing. A stretch does not depend on who asked for it. Not thread-safe: one a thread.
class ThinReader {
  public:
    /// \param full      gives stretches at the recording's own rate; outlives this
    /// \param channels  that it gives
    ThinReader(StretchReader& full, int channels, double rate_hz)
        : full_(&full), thinner_(rate_hz), channels_(channels) {}

    const Block& read(Frame first, Frame count);
    [[nodiscard]] StretchOf as_function() {
        return [this](Frame first, Frame count) -> const Block& { return read(first, count); };
    }
    [[nodiscard]] const Thinner& thinner() const { return thinner_; }

  private:
    void push_zeros(std::size_t frames);
    void push(const Block& piece, std::size_t skip);
    void thin();

    StretchReader* full_;
    Thinner thinner_;
    int channels_;
    /// Of each channel: the frames that outputs not yet made are of.
    std::vector<std::vector<float>> waiting_;
    std::size_t done_ = 0; ///< outputs
    Block thin_;
};

} // namespace lull
