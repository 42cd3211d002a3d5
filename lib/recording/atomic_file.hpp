// SPDX-License-Identifier: GPL-3.0-or-later
//
// Files that appear under their final name only when they are whole.
#pragma once

#include <string>
#include <string_view>

namespace lull {

/// The temporary name beside `path` under which its content grows: ".NAME.part-PID".
[[nodiscard]] std::string part_name(const std::string& path);

/// Removes what killed runs left beside `path` under such names (their processes are gone).
void remove_stale_parts(const std::string& path);

/// Renames a finished part to its final name, its content forced to the disk first.
/// \throws Error(output) with the system's reason
void publish_part(const std::string& part, const std::string& path);

/// A file written piece by piece. Without commit() nothing of it stays.
class AtomicFile {
  public:
    /// A link is followed; a device or a pipe, which has no final name to wait for, is written
    /// directly. \throws Error(output) when it cannot be created
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
