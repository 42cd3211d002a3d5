// SPDX-License-Identifier: GPL-3.0-or-later
//
// Shared by fuzz targets. A target takes any bytes as a file of one format. It may refuse them with
// lull::Error; anything else is a fault.
#pragma once

#include "error.hpp"
#include "recording/audio_file.hpp"

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <memory>
#include <string>
#include <sys/mman.h>
#include <unistd.h>

namespace lull::test {

/// Bytes as a file that readers can open by a path.
class BytesAsFile {
  public:
    BytesAsFile(const std::uint8_t* bytes, std::size_t size)
        : handle(std::make_shared<FileHandle>(::memfd_create("fuzz", MFD_CLOEXEC))),
          path("/proc/self/fd/" + std::to_string(handle->descriptor())) {
        if (handle->descriptor() < 0 ||
            ::write(handle->descriptor(), bytes, size) != static_cast<ssize_t>(size))
            std::abort();
    }
    std::shared_ptr<FileHandle> handle;
    std::string path;
};

/// Calls a reader, which may refuse.
template <class Reader>
void may_refuse(const Reader& reader) {
    try {
        reader();
    } catch (const Error&) {
    }
}

} // namespace lull::test
