// SPDX-License-Identifier: GPL-3.0-or-later
//
// One folder in the place of another, so that a whole one is there at every moment.
#pragma once

#include <string>
#include <vector>

namespace lull {

/// Puts the whole folder `fresh` under the name of `place`, at one stroke where the file system can
/// exchange two names. Where it cannot, the earlier folder lies beside it for a moment, as
/// "NAME.earlier-PID", and a run that is killed in that moment leaves it there.
/// \param shown  `place` as the user wrote it
/// \return where the earlier folder lies now \throws Error(output); the earlier folder is then in
///         its place, or the message says where it is
[[nodiscard]] std::string put_in_place(const std::string& fresh, const std::string& place,
                                       const std::string& shown);

/// The name under which an earlier folder can be seen beside the one that replaced it.
[[nodiscard]] std::string earlier_name(const std::string& place);

/// Puts back the earlier folder of a tool's killed run when there is nothing in its place.
/// \throws Error(output)
void put_back(const std::string& place, const std::string& tool, const std::string& shown);

/// What killed runs left beside the folder, by any process: folders that grew, or were replaced.
/// The caller holds the folder's lock.
[[nodiscard]] std::vector<std::string> folders_left(const std::string& place);

} // namespace lull
