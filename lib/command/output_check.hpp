// SPDX-License-Identifier: GPL-3.0-or-later
//
// Outputs that a user named, looked at before the work begins: hours of it are not to end at a
// folder that is not there.
#pragma once

#include <string>
#include <vector>

namespace lull {

/// One output of a tool, as its option declares it.
struct NamedOutput {
    std::string option;                  ///< "--picture"
    const std::string* path;             ///< once the command line is read; empty: not asked for
    std::vector<std::string> endings;    ///< that its content has, ".svg"; empty: any
    const std::string* format = nullptr; ///< where it is not empty, the ending does not matter
    bool is_folder = false;
};

/// \throws Error(usage) for an ending that belongs to a file of another kind, Error(output) with
/// the
///         system's reason for what cannot be written
void check_outputs(const std::vector<NamedOutput>& outputs);

/// The ending of a file's name in small letters, with its dot; empty for none.
[[nodiscard]] std::string ending_of(const std::string& path);

} // namespace lull
