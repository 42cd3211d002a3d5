// SPDX-License-Identifier: GPL-3.0-or-later
//
// Checks of the outputs that a user named, before the work begins: a missing folder must not cost
// hours of work.
#pragma once

#include <string>
#include <vector>

namespace lull {

/// One output of a tool, as its option declares it.
struct NamedOutput {
    std::string option;               ///< "--picture"
    const std::string* path;          ///< set when the command line is parsed; empty: not asked for
    std::vector<std::string> endings; ///< endings that fit its content, ".svg"; empty: any
    const std::string* format = nullptr; ///< if not empty, any ending is allowed
    bool is_folder = false;
};

/// \throws Error(usage) for an ending of another kind of file, Error(output) with the system's
///         reason for what cannot be written
void check_outputs(const std::vector<NamedOutput>& outputs);

/// The ending of a file's name in lower case, with its dot; empty if it has none.
[[nodiscard]] std::string ending_of(const std::string& path);

} // namespace lull
