// SPDX-License-Identifier: GPL-3.0-or-later
//
// Jumps from one sample to the next that no sound makes: where samples were lost or repeated, the
// waveform goes on from another value without a trace in the samples round it.
#pragma once

#include "health/health.hpp"

#include <span>

namespace lull {

class JumpMeter {
  public:
    /// Looks at samples from frame `first` on.
    void look(std::span<const float> piece, Frame first);
    [[nodiscard]] const StretchList& found() const { return found_; }

  private:
    StretchList found_;
};

} // namespace lull
