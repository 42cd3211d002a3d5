// SPDX-License-Identifier: GPL-3.0-or-later
//
// Blocks that were sent twice, as a radio link conceals the loss of a packet.
#pragma once

#include "health/health.hpp"

#include <cstdint>
#include <span>
#include <vector>

namespace lull {

/// Looks for blocks of 5 ms and more that repeat, sample by sample, what was up to 1 s before.
///
/// About every millisecond there is a landmark: a sample whose bits, mixed with the next one's, end
/// in zeros, so that the same samples give the same landmarks wherever they stand. Each is looked
/// up by a digest of the samples that follow it among the landmarks before; where it is found, the
/// samples themselves are compared [content-defined chunking: Muthitacharoen et al. 2001].
class RepeatMeter {
  public:
    explicit RepeatMeter(double rate_hz);

    void look(std::span<const float> piece, Frame first);
    /// Nothing follows. A signal that repeats all the time is periodic, not broken.
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
    std::uint32_t zeros_; ///< the bits that are 0 at a landmark
    std::vector<Landmark> landmarks_;
    std::vector<std::size_t> here_;      ///< landmarks of a piece: indices into the line
    std::vector<std::uint32_t> digests_; ///< of them
    std::vector<float> line_;            ///< what came before, then the piece
    Frame line_first_ = 0;               ///< frame of line_[0]
    Frame next_ = 0;                     ///< frame that is looked at next
    Stretch open_;                       ///< a repeated block that may go on; count 0: none
    Frame open_lag_ = 0, told_ = 0;      ///< told_: end of the last one
    StretchList found_;
};

} // namespace lull
