// SPDX-License-Identifier: GPL-3.0-or-later
//
// One run at a time on an output folder.
#pragma once

#include <string>

namespace lull {

/// Holds ".NAME.lock" beside a folder locked (flock), so that the lock dies with the process
/// however that ends. The file itself goes with the object; one that a killed run left is taken
/// over.
class FolderLock {
  public:
    /// \param folder  settled: without links, dots and a slash at its end
    /// \param shown   as the user wrote it, for messages
    /// \throws Error(output) when another run holds it, or no file can be made beside the folder
    FolderLock(const std::string& folder, const std::string& shown);
    ~FolderLock();
    FolderLock(const FolderLock&) = delete;
    FolderLock& operator=(const FolderLock&) = delete;

  private:
    std::string path_;
    int descriptor_ = -1;
};

} // namespace lull
