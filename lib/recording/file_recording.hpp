// SPDX-License-Identifier: GPL-3.0-or-later
//
// A recording made of audio files.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/recording.hpp"
#include "recording/timeline.hpp"

#include <memory>
#include <vector>

namespace lull {

/// One file of a recording: how to open it, and where it lies.
struct PlacedFile {
    std::string path;
    std::shared_ptr<FileHandle> spooled; ///< standard input
    AudioInfo info;
    FileSpan span;
};

class FileRecording : public Recording {
  public:
    [[nodiscard]] std::unique_ptr<Stream> open() const override;

    std::vector<PlacedFile> files;
    /// For each channel the files that hold it, in time order, and the track in all of them.
    struct Source {
        std::vector<int> files;
        int track = 0; ///< from 0
        float sign = 1.0F;
    };
    std::vector<Source> sources;
};

} // namespace lull
