// SPDX-License-Identifier: GPL-3.0-or-later
//
// The steps of opening a recording that one file, a session and a folder have in common.
#pragma once

#include "recording/file_recording.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>

namespace lull {

/// Examines a file and adds it.
/// \param shown  its name in reports \param known  of files examined before; may be null
/// \throws Error(input)
void add_file(FileRecording& recording, const std::string& path, const std::string& shown,
              std::shared_ptr<FileHandle> spooled, ExaminedFiles* known = nullptr);

/// Whether a file carries the mark of an exercise.
[[nodiscard]] bool is_marked(const AudioInfo& info);

/// A session of one file's tracks, of which no more is known than the names that the file may give.
[[nodiscard]] Session bare_session(const AudioInfo& info);

/// Notes that a file is no part of the recording, and tells it.
void skip(FileRecording& recording, const std::string& label, const std::string& why);

/// Why the file of that index is no part of the recording; none: it is.
using WhyDropped = std::function<std::optional<std::string>(std::size_t)>;

/// Takes files that were added out again, with their places in the session.
void drop_where(FileRecording& recording, const WhyDropped& why);

/// The highest track that a session's channels need.
[[nodiscard]] int tracks_of(const Session& session);

/// Drops files that cannot follow the others on the same channels: those of another rate than most
/// of the recorded time has, with fewer tracks than are needed or, where no channel is described,
/// with another number of tracks. Keeps all when none has the tracks.
void keep_what_fits(FileRecording& recording, std::optional<int> tracks_needed);

/// Checks what files and session say of each other, places the files, selects the channels.
/// \param recording  files and session set. \throws Error(input), Error(usage)
void finish_opening(FileRecording& recording, const OpenOptions& options);

} // namespace lull
