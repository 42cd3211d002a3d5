// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/timeline.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {

std::vector<Notice> place_in_sequence(std::vector<FileSpan>& files, double rate_hz) {
    std::vector<Notice> notices;
    const auto seconds = [rate_hz](Frame frames) { return static_cast<double>(frames) / rate_hz; };
    Frame end = 0;
    for (FileSpan& file : files) {
        file.first = file.start_s ? static_cast<Frame>(std::llround(*file.start_s * rate_hz)) : end;
        const Frame gap = file.first - end;
        if (gap > 1 && &file != &files.front())
            notices.push_back({file.label, fmt::format("a gap of {:.6f} s lies before it, from {:.6f} s to {:.6f} s",
                                                       seconds(gap), seconds(end), seconds(file.first)), false});
        if (gap < 0) {
            file.skip = std::min(-gap, file.frames);
            notices.push_back({file.label, fmt::format("its first {:.6f} s overlap the file before, from {:.6f} s to "
                                                       "{:.6f} s; the earlier file counts there",
                                                       seconds(file.skip), seconds(file.first),
                                                       seconds(file.first + file.skip)), false});
            file.first += file.skip;
        }
        end = std::max(end, file.first + file.frames - file.skip);
    }
    return notices;
}

void place_side_by_side(std::vector<FileSpan>& files, double rate_hz) {
    for (FileSpan& file : files)
        file.first = file.start_s ? static_cast<Frame>(std::llround(*file.start_s * rate_hz)) : 0;
}

} // namespace lull
