// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/examined_files.hpp"

#include <fmt/format.h>

#include <sys/stat.h>
#include <utility>

namespace lull {
namespace {

std::string state_of(const std::string& path) {
    struct stat status {};
    if (::stat(path.c_str(), &status) != 0) return {};
    return fmt::format("{} {} {} {}.{} {}.{}", status.st_dev, status.st_ino, status.st_size,
                       status.st_mtim.tv_sec, status.st_mtim.tv_nsec, status.st_ctim.tv_sec,
                       status.st_ctim.tv_nsec);
}

} // namespace

AudioInfo ExaminedFiles::examine(const std::string& path) {
    std::string state = state_of(path);
    const auto known = known_.find(path);
    if (!state.empty() && known != known_.end() && known->second.state == state)
        return known->second.info;
    AudioInfo info = examine_audio(path, nullptr);
    known_[path] = {std::move(state), info};
    return info;
}

} // namespace lull
