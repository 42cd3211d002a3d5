// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which files the user named, folders looked into.
#pragma once

#include "recording/recording.hpp"

#include <span>
#include <string>
#include <vector>

namespace lull {

struct ListedFile {
    std::string path;
    std::string label; ///< its name; with its folder's where two files share one
};

/// The files in order of their names, each once.
/// \param notices  what was passed over though it might hold recordings
/// \throws Error(input) for a folder that cannot be read
[[nodiscard]] std::vector<ListedFile> list_files(std::span<const std::string> inputs,
                                                 std::span<const std::string> not_inputs,
                                                 std::vector<Notice>& notices);

} // namespace lull
