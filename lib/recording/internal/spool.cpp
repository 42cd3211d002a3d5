// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/spool.hpp"

#include "error.hpp"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <string>
#include <unistd.h>
#include <vector>

namespace lull {

std::shared_ptr<FileHandle> temporary_file() {
    std::string name = (std::filesystem::temp_directory_path() / "lull-input-XXXXXX").string();
    const int descriptor = ::mkostemp(name.data(), O_CLOEXEC);
    if (descriptor < 0)
        throw_output(name, std::strerror(errno), "this input needs room for a temporary file");
    ::unlink(name.c_str());
    return std::make_shared<FileHandle>(descriptor);
}

void put(const FileHandle& file, std::int64_t at, std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t written = ::pwrite(file.descriptor(), bytes.data(), bytes.size(), at);
        if (written < 0 && errno == EINTR) continue;
        if (written < 0)
            throw_output("temporary file", std::strerror(errno), "make room there, or set TMPDIR");
        bytes.remove_prefix(static_cast<std::size_t>(written));
        at += written;
    }
}

std::shared_ptr<FileHandle> spool_standard_input() {
    auto handle = temporary_file();
    std::vector<char> buffer(1U << 20U);
    std::int64_t at = 0;
    for (;;) {
        const ssize_t got = ::read(STDIN_FILENO, buffer.data(), buffer.size());
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) throw_input("standard input", "", std::strerror(errno), "");
        if (got == 0) return handle;
        put(*handle, at, {buffer.data(), static_cast<std::size_t>(got)});
        at += got;
    }
}

} // namespace lull
