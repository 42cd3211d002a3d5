// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/folder_lock.hpp"

#include "error.hpp"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

namespace lull {
namespace {

namespace fs = std::filesystem;

/// Whether the name still leads to the open file: its last owner takes the name away.
bool is_still_named(int descriptor, const std::string& path) {
    struct stat open_file = {}, named = {};
    return ::fstat(descriptor, &open_file) == 0 && ::lstat(path.c_str(), &named) == 0 &&
           open_file.st_ino == named.st_ino && open_file.st_dev == named.st_dev;
}

} // namespace

FolderLock::FolderLock(const std::string& folder, const std::string& shown)
    : path_(
          (fs::path(folder).parent_path() / ("." + fs::path(folder).filename().string() + ".lock"))
              .string()) {
    for (;;) {
        descriptor_ = ::open(path_.c_str(), O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0666);
        if (descriptor_ < 0)
            throw_output(shown, std::string("the folder that holds it: ") + std::strerror(errno),
                         "give a place in a folder that exists and can be written");
        if (::flock(descriptor_, LOCK_EX | LOCK_NB) != 0) {
            const int reason = errno;
            ::close(descriptor_);
            if (reason == EWOULDBLOCK)
                throw_output(shown, "another run is writing it",
                             "wait until that has ended, or give another folder");
            throw_output(shown, std::string("cannot be locked: ") + std::strerror(reason),
                         "give a place on another file system");
        }
        if (is_still_named(descriptor_, path_)) return;
        ::close(descriptor_);
    }
}

FolderLock::~FolderLock() {
    ::unlink(path_.c_str());
    ::close(descriptor_);
}

} // namespace lull
