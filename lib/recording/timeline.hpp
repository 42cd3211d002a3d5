// SPDX-License-Identifier: GPL-3.0-or-later
//
// Where each file lies on the one time line.
#pragma once

#include "recording/recording.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

/// One file as it is to be placed.
struct FileSpan {
    std::string label;
    Frame frames = 0;
    std::optional<double> start_s; ///< from frame 0 of the time line, when it is known
    Frame first = 0;               ///< result: frame of the time line where its samples count from
    Frame skip = 0;                ///< result: its first frames that an earlier file already covers
};

/// Places files that follow each other: by their starts where known, else end to end. Where two
/// overlap, the earlier one counts and the later one's first frames are skipped. Gaps of more than
/// one frame and overlaps become notices with their times.
[[nodiscard]] std::vector<Notice> place_in_sequence(std::vector<FileSpan>& files, double rate_hz);

/// Places files that ran side by side: by their starts where known, else at 0.
void place_side_by_side(std::vector<FileSpan>& files, double rate_hz);

} // namespace lull
