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
/// time line, so that different units of work agree; the first begins at or after `first`.
class LevelTracker {
  public:
    /// \param first   frame where the stream begins
    /// \param frames  that are expected: room is made for them
    LevelTracker(int channels, double rate_hz, Frame first, Frame frames = 0);

    /// Blocks follow each other without a gap from `first` on.
    void push(const Block& block);
    /// The tracks, one a channel; an unfinished last hop is left out. The tracker is then empty.
    [[nodiscard]] std::vector<LevelTrack> take();

  private:
    struct Hop { ///< partial results of an unfinished hop, lanes side by side
        std::array<float, 16> squares{}, largest{};
        void add(const float* x, Frame into_hop, Frame count);
    };
    std::vector<LevelTrack> tracks_;
    std::vector<Hop> hops_; ///< a channel each
    Frame hop_, at_;        ///< frames a hop; frame that comes next
};

} // namespace lull
