// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that a recorder is still writing, told from those that are finished.
//
// Nothing tells for certain that a recorder is done with a file, so a file counts as finished when
// its size and times have not changed for a while, and further
// - its header says how long it is, and that much is there, or
// - another file beside it was written later, or
// - it has not changed for six times that while.
// A file that changes after all is unfinished again.
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
    std::string state; ///< size, times, inode: another when the file has changed
    std::int64_t bytes = 0;
};

/// What lies in folders at one moment, in order of the names.
struct FolderView {
    std::vector<WatchedFile> finished, growing;
};

class FolderWatch {
  public:
    /// \param inputs     files and folders, as open_inputs takes them
    /// \param settled_s  how long a finished file has not changed, > 0
    FolderWatch(std::vector<std::string> inputs, double settled_s);

    /// Looks into the folders. Opens only files that may just have become finished.
    /// \param not_inputs  files to pass over, as open_inputs does
    /// \param now_s       of a clock that never jumps
    /// \throws Error(input) for a folder that cannot be read
    [[nodiscard]] FolderView look(std::span<const std::string> not_inputs, double now_s);

  private:
    struct Seen {
        std::string state;
        std::int64_t bytes = 0;
        double modified_s = 0;  ///< by the clock of the file system
        double unchanged_s = 0; ///< since then, by ours
        bool examined = false, whole = false;
    };
    [[nodiscard]] bool is_finished(const std::string& path, Seen& seen, double latest_s,
                                   double now_s) const;

    std::vector<std::string> inputs_;
    double settled_s_;
    std::map<std::string, Seen> seen_; ///< by path
};

/// Whether a file's header says how much it holds, and that much is there. False for what cannot be
/// read, and for forms whose header does not say.
[[nodiscard]] bool is_whole_by_header(const std::string& path);

} // namespace lull
