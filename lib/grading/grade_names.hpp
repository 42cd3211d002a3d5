// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pseudonyms: who a score belongs to is in a separate file.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Names to pseudonyms, as the key file holds them.
using NameKey = std::map<std::string, std::string>;

/// Adds a pseudonym ("L01", "L02", ...) for every name that has none. New names are numbered in the
/// order of the SHA-256 of salt and name, so that the alphabet gives nothing away; names already in
/// the key keep theirs, so that a listener stays the same over several exercises.
/// \param salt  what those who see the scores do not have: the truth file's bytes
[[nodiscard]] NameKey with_pseudonyms(NameKey key, std::span<const std::string> names,
                                      const std::string& salt);

/// Reads a key file: columns pseudonym, name. \throws Error(input), also when a pseudonym stands
/// for two names
[[nodiscard]] NameKey parse_name_key(const std::string& bytes, const std::string& file);

} // namespace lull
