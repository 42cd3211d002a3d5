// SPDX-License-Identifier: GPL-3.0-or-later
//
// The discrete Fourier transform of real signals. It owns all of FFTW's plans.
#pragma once

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace lull {

/// The smallest even n >= least without a prime factor above 7: transforms of such sizes are fast.
/// least >= 1.
[[nodiscard]] std::size_t fast_size(std::size_t least);

/// The smallest 4, 5, 6 or 7 times a power of two that is >= least, at least 8. Many lengths share
/// such a size, which matters since making a plan costs as much as some hundred transforms.
[[nodiscard]] std::size_t shared_size(std::size_t least);

/// Transforms of one size, single precision. The process makes one plan for a size at its first
/// use, by estimate, so that results are reproducible. Any number of threads may use one object, or
/// objects of one size, at the same time.
class RealFft {
  public:
    /// \param size   >= 1 samples of a real signal
    /// \param batch  >= 1 consecutive signals that one call transforms
    explicit RealFft(std::size_t size, std::size_t batch = 1);

    [[nodiscard]] std::size_t size() const { return size_; }
    [[nodiscard]] std::size_t bins() const { return size_ / 2 + 1; }

    /// X[k] = sum x[n] exp(-2*pi*i*k*n/size), k = 0..size/2.
    /// \param in   batch*size samples
    /// \param out  batch*bins() values
    void forward(std::span<const float> in, std::span<std::complex<float>> out) const;
    /// x[n] = sum X[k] exp(2*pi*i*k*n/size) over all bins, not divided by size.
    /// \param in  is overwritten
    void inverse(std::span<std::complex<float>> in, std::span<float> out) const;

  private:
    struct Plans;
    std::size_t size_, batch_;
    Plans* plans_; ///< owned by the process
};

} // namespace lull
