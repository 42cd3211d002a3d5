// SPDX-License-Identifier: GPL-3.0-or-later
//
// Stretches of all channels, thinned out to about 4 kHz.
#pragma once

#include "recording/recording.hpp"
#include "signal/thinner.hpp"

namespace lull {

/// Delivers exactly what is asked for, frames counted in the thinned stream: 0 where the recording
/// has nothing. A stretch does not depend on who asked for it. Not thread-safe: one a thread.
class ThinReader {
  public:
    /// \param full      gives stretches at the recording's own rate
    /// \param channels  that it gives
    ThinReader(StretchOf full, int channels, double rate_hz)
        : full_(std::move(full)), thinner_(rate_hz), channels_(channels) {}

    const Block& read(Frame first, Frame count);
    [[nodiscard]] StretchOf as_function() {
        return [this](Frame first, Frame count) -> const Block& { return read(first, count); };
    }
    [[nodiscard]] const Thinner& thinner() const { return thinner_; }

  private:
    void read_part(Frame at, Frame count);

    StretchOf full_;
    Thinner thinner_;
    int channels_;
    std::vector<float> padded_;
    Block thin_;
};

} // namespace lull
