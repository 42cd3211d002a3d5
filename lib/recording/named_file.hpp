// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that another file names: the recordings of a session, the speech of a plan.
#pragma once

#include <string>

namespace lull {

/// Whether a file lies outside the folder of the file that names it: by an absolute path, by `..`,
/// or through a symbolic link.
[[nodiscard]] bool leads_outside(const std::string& naming_file, const std::string& named);

} // namespace lull
