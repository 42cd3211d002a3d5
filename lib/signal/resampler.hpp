// SPDX-License-Identifier: GPL-3.0-or-later
//
// A signal at another rate.
#pragma once

#include <memory>
#include <span>
#include <vector>

struct soxr;

namespace lull {

/// Changes the rate of one signal, piece by piece, by libsoxr's band-limited interpolation of
/// medium quality: flat and free of aliases to about 100 dB up to 0.45 of the lower rate, without
/// delay. Not thread-safe: one a thread.
class Resampler {
  public:
    /// \throws std::bad_alloc
    Resampler(double from_hz, double to_hz);

    /// Appends what can be told so far of the new signal.
    void push(std::span<const float> samples, std::vector<float>& to);
    /// Appends the rest. Nothing is pushed afterwards.
    void finish(std::vector<float>& to);

  private:
    struct End {
        void operator()(soxr* made) const;
    };
    void process(const float* samples, std::size_t count, std::vector<float>& to);

    double ratio_;
    std::unique_ptr<soxr, End> made_; ///< none where the rates are the same
};

} // namespace lull
