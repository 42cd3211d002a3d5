// SPDX-License-Identifier: GPL-3.0-or-later
//
// The steps of opening a recording that one file, a session and a folder share.
#pragma once

#include "recording/file_recording.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>

namespace lull {

/// Examines a file and adds it.
/// \param shown  its name in reports
/// \param known  cache of examined files; may be null
/// \throws Error(input)
void add_file(FileRecording& recording, const std::string& path, const std::string& shown,
              std::shared_ptr<FileHandle> spooled, ExaminedFiles* known = nullptr);

/// Whether a file has the mark of an exercise.
[[nodiscard]] bool is_marked(const AudioInfo& info);

/// A session of one file's tracks, which knows only the names that the file may give.
[[nodiscard]] Session bare_session(const AudioInfo& info);

/// Records that a file is not part of the recording, and reports it.
void skip(FileRecording& recording, const std::string& label, const std::string& why);

/// Why the file of that index is not part of the recording; empty: it is part of it.
using WhyDropped = std::function<std::optional<std::string>(std::size_t)>;

/// Removes files, and their places in the session.
void drop_where(FileRecording& recording, const WhyDropped& why);

/// The highest track number that a session's channels need.
[[nodiscard]] int tracks_of(const Session& session);

/// Drops files that cannot follow the others on the same channels. A file must have the rate of
/// most of the recorded time and the tracks that are needed, or, where no channel is described, the
/// same number of tracks as most. Keeps all when none has the tracks.
void keep_what_fits(FileRecording& recording, std::optional<int> tracks_needed);

/// Checks files and session against each other, places the files, selects the channels.
/// \param recording  with files and session set
/// \throws Error(input), Error(usage)
void finish_opening(FileRecording& recording, const OpenOptions& options);

} // namespace lull
