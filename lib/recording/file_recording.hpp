// SPDX-License-Identifier: GPL-3.0-or-later
//
// A recording made of audio files.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/recording.hpp"
#include "recording/timeline.hpp"

#include <memory>
#include <string>
#include <vector>

namespace lull {

/// One file of a recording: how to open it, and its contents.
struct MeasuredFile {
    std::string path;                    ///< the path that is opened
    std::shared_ptr<FileHandle> spooled; ///< standard input
    AudioInfo info;
};

class FileRecording : public Recording {
  public:
    [[nodiscard]] std::unique_ptr<Stream> open() const override;

    std::vector<MeasuredFile> files; ///< one for each of Recording::inputs
    std::vector<FileSpan> spans;     ///< one for each of Recording::inputs
    /// Whether tracks are assigned to channels by the names in the files (miniSEED). Then a file
    /// may hold only some of the channels.
    bool by_name = false;

    /// Channels that come from the same files in the same way.
    struct Group {
        struct Source {
            int channel = 0; ///< index into Recording::channels
            int track = 0;   ///< from 0
        };
        std::vector<Source> sources;
        std::vector<Segment> segments; ///< in time order, without overlap
    };
    std::vector<Group> groups;
};

/// The indices of the files that hold a channel of that name, in order.
[[nodiscard]] std::vector<int> files_of(const FileRecording& recording, const std::string& channel);

/// Places each file on the time line and sets its start. Fills start, spans, frames, and notices of
/// gaps and overlaps.
/// Starts come from the session where it states them. Otherwise files that follow one another lie
/// end to end, unless their own times (bext chunk or name, the same source in both) differ from
/// that by more than 2 s. Files side by side begin together. The times of miniSEED are exact and
/// always place its files. The earliest start is frame 0.
/// \throws Error(input) for a start that cannot be read or compared
void place_files(FileRecording& recording);

} // namespace lull
