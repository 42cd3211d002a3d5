// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that follow each other, without a session file that says so: a night of captures.
#pragma once

#include "recording/recording.hpp"

#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <string>

namespace lull {

/// Told after each file that was examined: how many are done, of how many. May throw.
using OpeningProgress = std::function<void(std::size_t done, std::size_t total)>;

/// Opens several inputs, or a folder's files, as one recording: files that follow each other on one
/// time line. A single input that is no folder is opened as open_recording does.
///
/// Files are put in order by the time that they carry (bext chunk, else name); those that carry
/// none follow the others in order of their names, numbers in them by value. Kept are the files of
/// the rate and number of tracks that most of the recorded time has; where every file names its
/// channels (miniSEED) and no session describes them, tracks of one name are one channel, whichever
/// file they are in. The others are skipped, each
/// with a notice, and so is what cannot be read, is not audio, is an exercise among real
/// recordings, or was recorded more than a day from the rest. Names in a folder that begin with a
/// dot, and folders that lull wrote, are passed over.
///
/// \param inputs      audio files and folders, or one session file, or "-" alone
/// \param options     a session file there describes the channels; its list of recordings gives
///                    starts and clock checks to the files that it names
/// \param not_inputs  files that are passed over without a word: a folder may hold them for another
///                    purpose (session, log)
/// \param only        of the files found, just these, by the paths that list_inputs gives; null:
/// all \throws Error(input) when no file is left, Error(usage) for a session file or standard input
///         among several inputs
[[nodiscard]] std::shared_ptr<Recording>
open_inputs(std::span<const std::string> inputs, const OpenOptions& options,
            std::span<const std::string> not_inputs, const OpeningProgress& progress,
            const std::vector<std::string>* only = nullptr);

} // namespace lull
