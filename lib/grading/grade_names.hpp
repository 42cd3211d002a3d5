// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pseudonyms. A separate file holds the names of the listeners.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// From names to pseudonyms, as the key file holds them.
using NameKey = std::map<std::string, std::string>;

/// Adds a pseudonym ("L01", "L02", ...) for every name without one. New names are numbered in the
/// order of the SHA-256 of salt and name, so that their order reveals nothing. Names in the key
/// keep their pseudonyms over several exercises.
/// \param salt  unknown to those who see the scores: the truth file's bytes
[[nodiscard]] NameKey with_pseudonyms(NameKey key, std::span<const std::string> names,
                                      const std::string& salt);

/// Reads a key file: columns pseudonym, name. \throws Error(input), also when a pseudonym has two
/// names
[[nodiscard]] NameKey parse_name_key(const std::string& bytes, const std::string& file);

} // namespace lull
