// SPDX-License-Identifier: GPL-3.0-or-later
//
// A-weighted power, window by window.
#pragma once

#include "conventions.hpp"
#include "signal/fft.hpp"

#include <complex>
#include <span>
#include <vector>

namespace lull {

/// Weights spectra of half a second by the curve itself [IEC 61672-1:2013, 5.5], so there is no
/// bilinear transform that would distort it near half the rate. The windows are sines that overlap
/// by half. Their squares add up to one; by Parseval so does the power.
class WeightedMeter {
  public:
    explicit WeightedMeter(double rate_hz);

    /// Takes samples that follow the last ones; otherwise the open window is dropped. Calls
    /// done(middle frame, frames, power) for each completed window: `frames` of mean square
    /// `power`.
    template <class Done>
    void push(std::span<const float> samples, Frame first, Done&& done) {
        if (first != next_) held_.clear();
        next_ = first + static_cast<Frame>(samples.size());
        held_.insert(held_.end(), samples.begin(), samples.end());
        std::size_t at = 0;
        const std::size_t size = fft_.size(), hop = size / 2;
        const Frame held_first = next_ - static_cast<Frame>(held_.size());
        for (; at + size <= held_.size(); at += hop)
            done(held_first + static_cast<Frame>(at + hop), static_cast<Frame>(hop),
                 power_of(std::span(held_).subspan(at, size)));
        held_.erase(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(at));
    }

  private:
    [[nodiscard]] double power_of(std::span<const float> samples);

    RealFft fft_;
    std::vector<float> window_, windowed_, held_;
    std::vector<double> weight_; ///< from a bin's squared magnitude to its part of the mean square
    std::vector<std::complex<float>> spectrum_;
    Frame next_ = -1;
};

} // namespace lull
