// SPDX-License-Identifier: GPL-3.0-or-later
//
// Blocks that were sent twice, as a radio link does to conceal a lost packet.
#pragma once

#include "health/health.hpp"

#include <cstdint>
#include <span>
#include <vector>

namespace lull {

/// Finds blocks of at least 5 ms that repeat, sample by sample, a block at most 1 s earlier.
///
/// About once a millisecond there is a landmark: a sample whose bits, mixed with those of the next
/// one, end in zeros. The same samples have the same landmarks, wherever they lie. Each landmark is
/// looked up among the earlier ones by a digest of the samples that follow it. On a match the
/// samples themselves are compared [content-defined chunking: Muthitacharoen et al. 2001].
class RepeatMeter {
  public:
    explicit RepeatMeter(double rate_hz);

    void look(std::span<const float> piece, Frame first);
    /// Ends the input. A signal that repeats all the time is periodic and has no fault.
    [[nodiscard]] StretchList finish(Frame measured);

  private:
    struct Landmark {
        std::uint32_t digest = 0;
        Frame frame = -1;
    };
    void compare(std::size_t at, std::size_t lag);
    void extend();
    void close();
    void forget();

    std::size_t reach_, least_;
    std::uint32_t zeros_; ///< bits that are 0 at a landmark
    std::vector<Landmark> landmarks_;
    std::vector<std::size_t> here_;      ///< landmarks of a piece, as indices into the line
    std::vector<std::uint32_t> digests_; ///< of the landmarks
    std::vector<float> line_;            ///< earlier samples, then the piece
    Frame line_first_ = 0;               ///< frame of line_[0]
    Frame next_ = 0;                     ///< the next frame to test
    Stretch open_;                       ///< a repeated block that may continue; count 0: none
    Frame open_lag_ = 0, told_ = 0;      ///< told_: end of the last reported block
    StretchList found_;
};

} // namespace lull
