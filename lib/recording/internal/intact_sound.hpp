// SPDX-License-Identifier: GPL-3.0-or-later
//
// The intact parts of a compressed file, and their places on the file's own time line.
#pragma once

#include "recording/frame_range.hpp"
#include "recording/internal/shown_bytes.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

/// Bytes that a decoder takes as one file, and the part of its sound that is used.
struct Take {
    struct Use {
        Frame from = 0; ///< within the decoder's sound
        FrameRange to;  ///< on the file's time line
    };
    std::vector<BytePiece> bytes;
    Frame frames = 0; ///< number that the decoder must give
    std::vector<Use> uses;
};

struct IntactSound {
    std::vector<Take> takes;              ///< in order of time, disjoint; never empty
    std::optional<Frame> frames_promised; ///< by the header, or by the numbers of the intact frames
    bool cut_short = false;               ///< the end is missing
    bool reordered = false;               ///< parts were in the wrong place of the file
    bool garbled = false;                 ///< some samples are wrong, and it is not known which
    bool as_it_is = true;                 ///< intact: the only take is the file itself
    std::string unplaced; ///< why nothing after the last take is used; empty: everything is used

    [[nodiscard]] Frame end() const;
    /// The gaps between the takes and before the first.
    [[nodiscard]] std::vector<FrameRange> lost() const;
};

/// Limit for a loss: a wrong number would make a time line of years.
inline constexpr double longest_loss_s = 86400.0;

} // namespace lull
