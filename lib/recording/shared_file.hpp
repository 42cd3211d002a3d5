// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that come with the program: plans, words, languages.
#pragma once

#include <string>

namespace lull {

/// A file of the program's own data, found from the place of the program: below PREFIX/share/lull
/// where it is installed, below data/ where it is built. Empty when it is not there. \param name
/// "grading/synonyms.json"
[[nodiscard]] std::string shared_file(const std::string& name);

/// The file that a user names: as it is written where it exists, else, of a name without a folder,
/// the file of that name in a folder of the program's own data; .json may be left out. What is
/// found nowhere is returned as it is written. \param folder  "plans/", "language/", or "" for what
/// lies above them
[[nodiscard]] std::string with_shared_file(const std::string& named, const std::string& folder);

} // namespace lull
