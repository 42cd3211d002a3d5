// SPDX-License-Identifier: GPL-3.0-or-later
//
// What an output folder says of itself: who wrote it (run.log), and which files (SHA256SUMS).
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace lull {

inline constexpr std::string_view log_name = "run.log", digests_name = "SHA256SUMS",
                                  unfinished_name = "UNFINISHED.txt", first_name = "READ-FIRST.txt";

struct FolderRecord {
    std::string runs;   ///< lines of run.log: who ran what when
    bool whole = false; ///< a run ended well: there are digests
    /// SHA256SUMS is not what the tool wrote; nothing is then known of any file.
    bool changed = false;
    std::map<std::string, std::string> digests; ///< of the files that the tool wrote, by name
};

/// \return none when run.log does not say that the tool wrote the folder
[[nodiscard]] std::optional<FolderRecord> read_record(const std::string& folder,
                                                      const std::string& tool);

/// SHA256SUMS: a line a file, in order of name.
[[nodiscard]] std::string digests_text(const std::map<std::string, std::string>& digests);

/// run.log. \param digests  SHA256SUMS, whose own digest is noted; empty: there is none
[[nodiscard]] std::string log_text(const std::string& tool, std::string_view digests,
                                   std::string_view runs);

/// Whether a file of a folder is one by which the folder tells of itself: such a name is never the
/// user's. \param name  relative to the folder
[[nodiscard]] bool is_of_record(const std::string& name);

/// Whether a file or folder is the tool's output folder itself, or lies in it and was written by
/// the tool: it goes when the folder is replaced.
[[nodiscard]] bool is_replaced_with(const std::string& folder, const std::string& tool,
                                    const std::string& file);

/// A path without links, dots and a slash at its end.
[[nodiscard]] std::string settled_path(const std::string& path);

} // namespace lull
