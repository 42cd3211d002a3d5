// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that follow one another without a session file: a night of recordings.
#pragma once

#include "recording/recording.hpp"

#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <string>

namespace lull {

/// Called after each file that was examined, with the number done and the total. May throw.
using OpeningProgress = std::function<void(std::size_t done, std::size_t total)>;

/// Opens several inputs, or a folder's files, as one recording: files that follow one another on
/// one time line. A single input that is no folder is opened as in open_recording.
///
/// Files are ordered by their own time (bext chunk, else name). Files without a time follow the
/// others in order of their names, with numbers by value. Files of the rate and number of tracks of
/// most of the recorded time are kept. Where every file names its channels (miniSEED) and no
/// session describes them, tracks of one name are one channel in all files. Other files are skipped
/// with a notice. So are files that cannot be read, are not audio, are an exercise among real
/// recordings, or were recorded more than a day from the rest. Names in a folder that begin with a
/// dot, and folders that lull wrote, are ignored.
///
/// \param inputs      audio files and folders, or one session file, or "-" alone
/// \param options     its session file describes the channels; the recordings listed there give
///                    starts and clock checks to the files that they name
/// \param not_inputs  files that are ignored without a notice: a folder may hold them for another
///                    purpose (session, log)
/// \param only        use only these of the files found, by the paths that list_inputs gives; null:
///                    all
/// \throws Error(input) when no file is left, Error(usage) for a session file or standard input
///         among several inputs
[[nodiscard]] std::shared_ptr<Recording>
open_inputs(std::span<const std::string> inputs, const OpenOptions& options,
            std::span<const std::string> not_inputs, const OpeningProgress& progress,
            const std::vector<std::string>* only = nullptr);

} // namespace lull
