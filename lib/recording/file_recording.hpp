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

/// One file of a recording: how to open it, and what it holds.
struct MeasuredFile {
    std::string path;                    ///< by which it is opened
    std::shared_ptr<FileHandle> spooled; ///< standard input
    AudioInfo info;
};

class FileRecording : public Recording {
  public:
    [[nodiscard]] std::unique_ptr<Stream> open() const override;

    std::vector<MeasuredFile> files; ///< one for each of Recording::inputs
    std::vector<FileSpan> spans;     ///< likewise
    /// Which track of a file is which channel is told by the names that the files give (miniSEED):
    /// a file may hold some channels only.
    bool by_name = false;

    /// Channels that come from the same files in the same way.
    struct Group {
        struct Source {
            int channel = 0; ///< index into Recording::channels
            int track = 0;   ///< from 0
        };
        std::vector<Source> sources;
        std::vector<Piece> pieces; ///< in time order, without overlap
    };
    std::vector<Group> groups;
};

/// The files that hold a channel of that name, as indices in order.
[[nodiscard]] std::vector<int> files_of(const FileRecording& recording, const std::string& channel);

/// Decides where each file lies and when the time line starts; fills start, spans, frames, and
/// notices of gaps and overlaps. Starts are those that the session states. Where it states none,
/// files that follow each other lie end to end, unless the times they carry themselves (bext chunk
/// or name, the same kind in both) differ from that by more than 2 s; files side by side begin
/// together. The times of miniSEED are exact and place its files in both cases. The earliest start
/// is frame 0. \throws Error(input) for a start that cannot be read or compared
void place_files(FileRecording& recording);

} // namespace lull
