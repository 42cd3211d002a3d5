// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that get their final name only when they are complete.
#pragma once

#include <string>
#include <string_view>

namespace lull {

/// The temporary name beside `path` for unfinished content: ".NAME.part-PID".
[[nodiscard]] std::string part_name(const std::string& path);

/// Removes files with such names beside `path` whose process no longer runs.
void remove_stale_parts(const std::string& path);

/// Forces the names in a folder to the disk, so that renamed files survive a loss of power.
/// \return 0, or the system's reason (errno); 0 also where the file system cannot do that
[[nodiscard]] int force_names_to_disk(const std::string& folder);

/// A file written in parts. Without commit() nothing of it stays.
class AtomicFile {
  public:
    /// Follows a link under the final name, but never one under the temporary name. A device or a
    /// pipe has no final name and is written directly.
    /// \throws Error(output) when it cannot be created
    explicit AtomicFile(std::string path);
    ~AtomicFile();
    AtomicFile(const AtomicFile&) = delete;
    AtomicFile& operator=(const AtomicFile&) = delete;

    /// \throws Error(output) with the system's reason (no space left, ...)
    void write(std::string_view bytes);
    /// For writers that need random access. Stays owned by this object.
    [[nodiscard]] int descriptor() const { return descriptor_; }
    /// Gives the file its final name. \throws Error(output)
    void commit();

  private:
    void publish();

    std::string path_;   ///< as given, for messages
    std::string target_; ///< path_ with links followed
    std::string part_;   ///< empty: written directly
    int descriptor_ = -1;
};

/// Writes a small file at once.
void write_file(const std::string& path, std::string_view bytes);
/// All bytes of a small file. \throws Error(input)
[[nodiscard]] std::string read_file(const std::string& path);

} // namespace lull
