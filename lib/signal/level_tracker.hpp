// SPDX-License-Identifier: GPL-3.0-or-later
//
// Makes level tracks from a stream of blocks.
#pragma once

#include "recording/recording.hpp"
#include "signal/tracks.hpp"

#include <array>
#include <vector>

namespace lull {

/// Power and peak of each channel, hop by hop. Hops lie on a raster counted from frame 0 of the
/// time line, so that units of work agree. The first hop begins at or after `first`.
class LevelTracker {
  public:
    /// \param first   frame where the stream begins
    /// \param frames  expected number, for which space is reserved
    LevelTracker(int channels, double rate_hz, Frame first, Frame frames = 0);

    /// Blocks must follow one another without a gap from `first` on.
    void push(const Block& block);
    /// The tracks, one a channel, without an unfinished last hop. The tracker is then empty.
    [[nodiscard]] std::vector<LevelTrack> take();

  private:
    struct Hop { ///< partial results of an unfinished hop, lanes side by side
        std::array<float, 16> squares{}, largest{};
        void add(const float* x, Frame into_hop, Frame count);
    };
    std::vector<LevelTrack> tracks_;
    std::vector<Hop> hops_; ///< one a channel
    Frame hop_, at_;        ///< frames a hop; next frame
};

} // namespace lull
