// SPDX-License-Identifier: GPL-3.0-or-later
//
// Changes the rate of a signal.
#pragma once

#include <memory>
#include <span>
#include <vector>

struct soxr;

namespace lull {

/// Resamples one signal in parts by libsoxr's band-limited interpolation of medium quality: flat
/// and free of aliases to about 100 dB up to 0.45 of the lower rate, without delay. Not
/// thread-safe: one a thread.
class Resampler {
  public:
    /// \throws std::bad_alloc
    Resampler(double from_hz, double to_hz);

    /// Appends the output that is complete so far.
    void push(std::span<const float> samples, std::vector<float>& to);
    /// Appends the rest. push() may not follow.
    void finish(std::vector<float>& to);

  private:
    struct End {
        void operator()(soxr* made) const;
    };
    void process(const float* samples, std::size_t count, std::vector<float>& to);

    double ratio_;
    std::unique_ptr<soxr, End> made_; ///< null where the rates are the same
};

} // namespace lull
