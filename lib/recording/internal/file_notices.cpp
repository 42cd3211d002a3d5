// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/file_notices.hpp"

#include <fmt/format.h>

namespace lull {
namespace {

/// Reports damage in a compressed file.
void tell_damage(const AudioInfo& info, const std::string& label, std::vector<Notice>& notices) {
    if (!info.unplaced.empty()) notices.push_back({label, info.unplaced, true});
    if (info.garbled)
        notices.push_back({label,
                           "is damaged: its checksum is wrong, and nothing tells where; its times "
                           "hold",
                           true});
    if (info.lost.empty() && info.reordered)
        notices.push_back({label,
                           "is damaged: parts of it were in the wrong order; they were put back "
                           "by their numbers",
                           true});
    if (info.lost.empty()) return;
    Frame frames = 0;
    for (const FrameRange& lost : info.lost)
        frames += lost.frames;
    const auto seconds = [&info](Frame frame) { return static_cast<double>(frame) / info.rate_hz; };
    notices.push_back(
        {label,
         info.lost.size() == 1
             ? fmt::format("is damaged: {:.6f} s to {:.6f} s of it are lost",
                           seconds(info.lost.front().first), seconds(info.lost.front().end()))
             : fmt::format("is damaged: {:.6f} s of it are lost in {} places between {:.6f} s and "
                           "{:.6f} s",
                           seconds(frames), info.lost.size(), seconds(info.lost.front().first),
                           seconds(info.lost.back().end())),
         true});
}

} // namespace

void tell_of_file(const AudioInfo& info, const std::string& label, std::vector<Notice>& notices) {
    if (info.cut_short && info.frames_promised && *info.frames_promised > info.frames)
        notices.push_back({label,
                           fmt::format("is cut short: {} frames promised, {} frames read",
                                       *info.frames_promised, info.frames),
                           true});
    else if (info.cut_short)
        notices.push_back(
            {label,
             info.no_end
                 ? fmt::format("is cut off before its end: {} frames read", info.frames)
                 : fmt::format("is cut off within a frame: {} whole frames read", info.frames),
             true});
    tell_damage(info, label, notices);
    for (const FileNotice& notice : info.notices)
        notices.push_back({label, notice.text, notice.degraded});
    if (info.open_ended)
        notices.push_back(
            {label,
             fmt::format("its header does not say how long it is; {} frames were found",
                         info.frames),
             false});
}

} // namespace lull
