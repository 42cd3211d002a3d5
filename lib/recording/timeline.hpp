// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which file counts where on the one time line.
#pragma once

#include "recording/recording.hpp"

#include <string>
#include <vector>

namespace lull {

/// Where one file lies, whole.
struct FileSpan {
    std::string label;
    Frame first = 0; ///< frame of the time line of its first frame
    Frame frames = 0;

    [[nodiscard]] Frame end() const { return first + frames; }
};

/// A stretch of the time line that is read from one file.
struct Piece {
    int file = 0; ///< index into the spans
    Frame begin = 0, end = 0;
};

/// The pieces of files that follow each other, in time order: where files overlap, the one that
/// began earlier counts up to its end (it was running undisturbed; of two that began together, the
/// one listed first). A file that lies wholly within earlier ones gives no piece.
/// \param files  indices into spans, in the order of the session
[[nodiscard]] std::vector<Piece> join_in_sequence(const std::vector<FileSpan>& spans,
                                                  std::vector<int> files);

/// What a person must be told of files that follow each other: each gap and overlap with its times.
[[nodiscard]] std::vector<Notice> gaps_and_overlaps(const std::vector<FileSpan>& spans,
                                                    std::vector<int> files, double rate_hz);

} // namespace lull
