// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that another file names: a session its recordings, a plan its speech.
#pragma once

#include <string>

namespace lull {

/// Whether a file lies outside the folder of the one that names it: by an absolute path, by `..`,
/// or by a symbolic link on the way.
[[nodiscard]] bool leads_outside(const std::string& naming_file, const std::string& named);

} // namespace lull
