// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/timeline.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

void sort_by_start(const std::vector<FileSpan>& spans, std::vector<int>& files) {
    std::ranges::stable_sort(
        files, {}, [&spans](int file) { return spans[static_cast<std::size_t>(file)].first; });
}

} // namespace

std::vector<Segment> join_in_sequence(const std::vector<FileSpan>& spans, std::vector<int> files) {
    sort_by_start(spans, files);
    std::vector<Segment> segments;
    Frame covered = 0;
    for (const int file : files) {
        const FileSpan& span = spans[static_cast<std::size_t>(file)];
        const Frame begin = segments.empty() ? span.first : std::max(span.first, covered);
        if (begin >= span.end()) continue;
        segments.push_back({file, begin, span.end()});
        covered = span.end();
    }
    return segments;
}

std::vector<Notice> gaps_and_overlaps(const std::vector<FileSpan>& spans, std::vector<int> files,
                                      double rate_hz) {
    const auto seconds = [rate_hz](Frame frames) { return static_cast<double>(frames) / rate_hz; };
    sort_by_start(spans, files);
    std::vector<Notice> notices;
    const FileSpan* reaching = nullptr; // the file with the latest end so far
    for (const int file : files) {
        const FileSpan& span = spans[static_cast<std::size_t>(file)];
        if (reaching != nullptr && span.first > reaching->end())
            notices.push_back(
                {span.label,
                 fmt::format("nothing was recorded between {} and this file: a gap of {:.6f} s, "
                             "{:.6f} s to {:.6f} s",
                             reaching->label, seconds(span.first - reaching->end()),
                             seconds(reaching->end()), seconds(span.first)),
                 false});
        if (reaching != nullptr && span.first < reaching->end()) {
            const Frame end = std::min(span.end(), reaching->end());
            notices.push_back(
                {span.label,
                 fmt::format("overlaps {} from {:.6f} s to {:.6f} s ({:.6f} s); the one that "
                             "began earlier counts there",
                             reaching->label, seconds(span.first), seconds(end),
                             seconds(end - span.first)),
                 false});
        }
        if (reaching == nullptr || span.end() > reaching->end()) reaching = &span;
    }
    return notices;
}

} // namespace lull
