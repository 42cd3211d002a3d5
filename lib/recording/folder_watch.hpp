// SPDX-License-Identifier: GPL-3.0-or-later
//
// Separates finished files from those that a recorder is still writing.
// There is no certain sign that a recorder has finished a file. A file counts as finished if its
// size and times have not changed for settled_s, and
// - its header states its length, and that much exists, or
// - another file beside it was written later, or
// - it has not changed for six times settled_s.
// If it changes later, it is unfinished again.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <vector>

namespace lull {

struct WatchedFile {
    std::string path;
    std::string label; ///< as reports show it
    std::string state; ///< size, times, inode; differs when the file has changed
    std::int64_t bytes = 0;
};

/// The files in the folders at one moment, in order of their names.
struct FolderView {
    std::vector<WatchedFile> finished, growing;
};

class FolderWatch {
  public:
    /// \param inputs     files and folders, as for open_inputs
    /// \param settled_s  time without changes after which a file can be finished, > 0
    FolderWatch(std::vector<std::string> inputs, double settled_s);

    /// Looks into the folders. Opens only files that may just have become finished.
    /// \param not_inputs  files to ignore, as in open_inputs
    /// \param now_s       from a monotonic clock
    /// \throws Error(input) for a folder that cannot be read
    [[nodiscard]] FolderView look(std::span<const std::string> not_inputs, double now_s);

  private:
    struct Seen {
        std::string state;
        std::int64_t bytes = 0;
        double modified_s = 0;  ///< by the file system's clock
        double unchanged_s = 0; ///< since then, by the monotonic clock
        bool examined = false, whole = false;
    };
    [[nodiscard]] bool is_finished(const std::string& path, Seen& seen, double latest_s,
                                   double now_s) const;

    std::vector<std::string> inputs_;
    double settled_s_;
    std::map<std::string, Seen> seen_; ///< by path
};

/// Whether a file's header states its length and that much exists. False for files that cannot be
/// read, and for formats whose header does not state it.
[[nodiscard]] bool is_whole_by_header(const std::string& path);

} // namespace lull
