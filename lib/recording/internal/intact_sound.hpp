// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is whole in a compressed file, and where it belongs on the file's own time line.
#pragma once

#include "recording/frame_range.hpp"
#include "recording/internal/shown_bytes.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

/// Bytes that a decoder takes for a file of their own, and what of its sound is to be used.
struct Take {
    struct Use {
        Frame from = 0; ///< of the sound that the decoder gives
        FrameRange to;  ///< of the file's time line
    };
    std::vector<BytePiece> bytes;
    Frame frames = 0; ///< that the decoder must give
    std::vector<Use> uses;
};

struct IntactSound {
    std::vector<Take> takes;              ///< in order of time, none within another; never empty
    std::optional<Frame> frames_promised; ///< by the header, or by the numbers of what is there
    bool cut_short = false;               ///< the end is missing
    bool reordered = false;               ///< parts stood in the wrong place of the file
    bool garbled = false;                 ///< some of it is wrong, and nothing tells where
    bool as_it_is = true;                 ///< whole: the one take is the file itself
    std::string unplaced; ///< why nothing after the last take can be used; empty: it is all used

    [[nodiscard]] Frame end() const;
    /// What lies between the uses, and before the first.
    [[nodiscard]] std::vector<FrameRange> lost() const;
};

/// Longer losses are not believed: a wrong number would make a time line of years.
inline constexpr double longest_loss_s = 86400.0;

} // namespace lull
