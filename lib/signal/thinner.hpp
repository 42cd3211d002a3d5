// SPDX-License-Identifier: GPL-3.0-or-later
//
// Decimates a stream to about 4 kHz, enough for the waveform of a knock after its path through a
// structure.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace lull {

inline constexpr double thin_rate_hz = 4000.0; ///< at least; below twice that
inline constexpr double thin_pass = 0.4; ///< of the decimated rate: flat within 0.1 dB up to here

/// Low-pass and every factor-th sample. The low-pass is a sinc under a Kaiser window (beta 6) with
/// a length of 16 decimated samples: aliases below 0.4 of the decimated rate are at least 38 dB
/// down [Kaiser 1974].
class Thinner {
  public:
    /// \param rate_hz  > 0; rates under 8 kHz are not changed
    explicit Thinner(double rate_hz);

    [[nodiscard]] std::size_t factor() const { return factor_; }
    [[nodiscard]] double rate_hz() const { return rate_hz_; } ///< of the decimated stream
    /// Samples needed before and after the one that an output is centred on.
    [[nodiscard]] std::size_t before() const { return taps_.size() / 2 - (factor_ > 1 ? 1 : 0); }
    [[nodiscard]] std::size_t after() const { return taps_.size() / 2; }
    [[nodiscard]] std::size_t wanted(std::size_t outputs) const {
        return outputs == 0 ? 0 : (outputs - 1) * factor_ + before() + after() + 1;
    }

    /// out[m] is centred on in[m * factor + before]. \param in wanted(out.size()) samples
    void thin(std::span<const float> in, std::span<float> out) const;

  private:
    std::size_t factor_;
    double rate_hz_;
    std::vector<float> taps_;           ///< the last one is 0, so that their number suits vectors
    std::vector<std::uint32_t> places_; ///< of each tap's sample, with the samples in rows
};

} // namespace lull
