// SPDX-License-Identifier: GPL-3.0-or-later
//
// Assigns parts of the time line to files.
#pragma once

#include "recording/recording.hpp"

#include <string>
#include <vector>

namespace lull {

/// Position of a whole file on the time line.
struct FileSpan {
    std::string label;
    Frame first = 0; ///< of its first frame, on the time line
    Frame frames = 0;

    [[nodiscard]] Frame end() const { return first + frames; }
};

/// A stretch of the time line that is read from one file.
struct Segment {
    int file = 0; ///< index into the spans
    Frame begin = 0, end = 0;
};

/// The stretches of files that follow one another, in time order. Where files overlap, the one that
/// began earlier counts up to its end, since it was recording undisturbed; if two began together,
/// the one listed first. A file that lies within earlier ones gives none.
/// \param files  indices into spans, in the order of the session
[[nodiscard]] std::vector<Segment> join_in_sequence(const std::vector<FileSpan>& spans,
                                                    std::vector<int> files);

/// Reports each gap and overlap between files that follow one another, with its times.
[[nodiscard]] std::vector<Notice> gaps_and_overlaps(const std::vector<FileSpan>& spans,
                                                    std::vector<int> files, double rate_hz);

} // namespace lull
