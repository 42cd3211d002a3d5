// SPDX-License-Identifier: GPL-3.0-or-later
//
// Jumps between two samples that no sound makes. Where samples were lost or repeated, the waveform
// continues from another value, and the neighbouring samples show nothing.
#pragma once

#include "health/health.hpp"

#include <span>

namespace lull {

class JumpMeter {
  public:
    /// Tests samples from frame `first` on.
    void look(std::span<const float> piece, Frame first);
    [[nodiscard]] const StretchList& found() const { return found_; }

  private:
    StretchList found_;
};

} // namespace lull
