// SPDX-License-Identifier: GPL-3.0-or-later
//
// Takes a spectrum of a channel every 2 s, up to half the rate. A few spectra a minute show the
// effects of a lossy codec or a narrow link.
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

    /// \param piece  samples from frame `first` on; a window with a gap in it is left out
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
