// SPDX-License-Identifier: GPL-3.0-or-later
//
// Looks at a channel's spectrum up to half the rate now and then: what a lossy codec or a narrow
// link leaves shows in a few looks a minute.
#pragma once

#include "conventions.hpp"
#include "health/health.hpp"
#include "signal/fft.hpp"

#include <array>
#include <complex>
#include <span>
#include <vector>

namespace lull {

class SpectrumProbe {
  public:
    explicit SpectrumProbe(double rate_hz);

    /// \param piece  samples from frame `first` on; a window that a gap divides is left out
    void look(std::span<const float> piece, Frame first);
    [[nodiscard]] const SpectrumLooks& looks() const { return looks_; }

  private:
    void take();
    void learn(const std::array<double, SpectrumLooks::bands>& db);

    RealFft fft_;
    Frame every_;
    std::vector<float> window_, held_, windowed_;
    Frame held_end_ = -1;
    std::vector<std::complex<float>> spectrum_;
    std::array<double, SpectrumLooks::bands> usual_db_{};
    SpectrumLooks looks_;
};

} // namespace lull
