// SPDX-License-Identifier: GPL-3.0-or-later
//
// Data files of the program: plans, words, languages.
#pragma once

#include <string>

namespace lull {

/// The path of a data file of the program, found from the place of the program: under
/// PREFIX/share/lull where it is installed, under data/ where it is built. Empty if it does not
/// exist.
/// \param name  "grading/synonyms.json"
[[nodiscard]] std::string shared_file(const std::string& name);

/// The file that a user means: the path as written if it exists. Otherwise a name without a folder
/// is searched for in a folder of the program's data, with or without .json. If nothing is found,
/// the path as written.
/// \param folder  "plans/", "language/", or "" for the top folder
[[nodiscard]] std::string with_shared_file(const std::string& named, const std::string& folder);

} // namespace lull
