// SPDX-License-Identifier: GPL-3.0-or-later
//
// Lists the files that the user named, including those in folders.
#pragma once

#include "recording/recording.hpp"

#include <span>
#include <string>
#include <vector>

namespace lull {

struct ListedFile {
    std::string path;
    std::string label; ///< its name; with the folder's name where two files have the same
};

/// The files in order of their names, each once.
/// \param notices  gets what was ignored though it may hold recordings
/// \throws Error(input) for a folder that cannot be read
[[nodiscard]] std::vector<ListedFile> list_files(std::span<const std::string> inputs,
                                                 std::span<const std::string> not_inputs,
                                                 std::vector<Notice>& notices);

} // namespace lull
