// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that appear under their final name only when they are whole.
#pragma once

#include <string>
#include <string_view>

namespace lull {

/// The temporary name beside `path` under which its content grows: ".NAME.part-PID".
[[nodiscard]] std::string part_name(const std::string& path);

/// Removes files that killed runs left beside `path` under such names (their processes are gone).
void remove_stale_parts(const std::string& path);

/// Forces the names in a folder to the disk: what was renamed there survives a loss of power.
/// \return 0, or the system's reason (errno); a file system that cannot do that gives 0
[[nodiscard]] int force_names_to_disk(const std::string& folder);

/// A file written piece by piece. Without commit() nothing of it stays.
class AtomicFile {
  public:
    /// A link under the final name is followed, one under the temporary name never. A device or a
    /// pipe, which has no final name to wait for, is written directly.
    /// \throws Error(output) when it cannot be created
    explicit AtomicFile(std::string path);
    ~AtomicFile();
    AtomicFile(const AtomicFile&) = delete;
    AtomicFile& operator=(const AtomicFile&) = delete;

    /// \throws Error(output) with the system's reason (no space left, ...)
    void write(std::string_view bytes);
    /// For writers that go to and fro in the file. Stays owned by this object.
    [[nodiscard]] int descriptor() const { return descriptor_; }
    /// Puts the file under its name. \throws Error(output)
    void commit();

  private:
    void publish();

    std::string path_;   ///< as given, for messages
    std::string target_; ///< links followed
    std::string part_;   ///< empty: written directly
    int descriptor_ = -1;
};

/// The whole of a small file at once.
void write_file(const std::string& path, std::string_view bytes);
/// All bytes of a small file. \throws Error(input)
[[nodiscard]] std::string read_file(const std::string& path);

} // namespace lull
