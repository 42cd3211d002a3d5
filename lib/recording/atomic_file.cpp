// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/atomic_file.hpp"

#include "error.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <charconv>
#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

namespace fs = std::filesystem;

fs::path folder_of(const std::string& path) {
    const fs::path parent = fs::path(path).parent_path();
    return parent.empty() ? fs::path(".") : parent;
}

std::string part_stem(const std::string& path) {
    return "." + fs::path(path).filename().string() + ".part-";
}

} // namespace

std::string part_name(const std::string& path) {
    return (folder_of(path) / fmt::format("{}{}", part_stem(path), ::getpid())).string();
}

void remove_stale_parts(const std::string& path) {
    std::error_code fault;
    const std::string stem = part_stem(path);
    for (const auto& entry : fs::directory_iterator(folder_of(path), fault)) {
        const std::string name = entry.path().filename().string();
        if (!name.starts_with(stem)) continue;
        int process = 0;
        const char* digits = name.data() + stem.size();
        const auto [end, bad] = std::from_chars(digits, name.data() + name.size(), process);
        if (bad != std::errc{} || end != name.data() + name.size() || process <= 0) continue;
        const bool gone = ::kill(process, 0) != 0 && errno == ESRCH;
        std::error_code ignored;
        if (gone && !entry.is_directory(ignored)) fs::remove(entry.path(), ignored);
    }
}

namespace {

/// Whether the path lies in a folder that is itself written under a temporary name. Such a folder
/// is forced to the disk as a whole when it is published.
bool grows_in_a_part(const std::string& path) {
    for (const fs::path& place : fs::path(path).parent_path())
        if (place.string().starts_with(".") && place.string().find(".part-") != std::string::npos)
            return true;
    return false;
}

/// Removes whatever lies under the temporary name. Then refuses to follow a link that somebody else
/// has put there, since it could lead to any file.
int create_part(const std::string& part) {
    ::unlink(part.c_str());
    return ::open(part.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
}

} // namespace

int force_names_to_disk(const std::string& folder) {
    const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0) return errno == EACCES ? 0 : errno;
    const int reason = ::fsync(descriptor) == 0 ? 0 : errno;
    ::close(descriptor);
    const bool unable = reason == EINVAL || reason == ENOTSUP || reason == ENOSYS;
    return unable ? 0 : reason;
}

AtomicFile::AtomicFile(std::string path) : path_(std::move(path)), target_(path_) {
    std::error_code fault;
    if (fs::is_symlink(path_, fault)) target_ = fs::weakly_canonical(path_, fault).string();
    const fs::file_status status = fs::status(target_, fault);
    if (fs::is_directory(status)) throw_output(path_, "is a folder", "give a file");
    const bool special = fs::exists(status) && !fs::is_regular_file(status);
    if (special) {
        descriptor_ = ::open(target_.c_str(), O_WRONLY | O_CLOEXEC);
    } else {
        // A folder with a temporary name is new and has no stale parts, so it need not be searched
        // for each file.
        if (!grows_in_a_part(target_)) remove_stale_parts(target_);
        part_ = part_name(target_);
        descriptor_ = create_part(part_);
    }
    if (descriptor_ < 0) throw_output(path_, std::strerror(errno), "");
}

AtomicFile::~AtomicFile() {
    if (descriptor_ < 0) return;
    ::close(descriptor_);
    if (!part_.empty()) ::unlink(part_.c_str());
}

void AtomicFile::write(std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t put = ::write(descriptor_, bytes.data(), bytes.size());
        if (put < 0 && errno == EINTR) continue;
        if (put < 0) throw_output(path_, std::strerror(errno), "");
        bytes.remove_prefix(static_cast<std::size_t>(put));
    }
}

void AtomicFile::publish() {
    const bool alone = !part_.empty() && !grows_in_a_part(target_);
    if (alone && ::fsync(descriptor_) != 0) throw_output(path_, std::strerror(errno), "");
    if (::close(std::exchange(descriptor_, -1)) != 0) throw_output(path_, std::strerror(errno), "");
    if (part_.empty()) return;
    if (::rename(part_.c_str(), target_.c_str()) != 0)
        throw_output(path_, std::strerror(errno), "");
    const int reason = alone ? force_names_to_disk(folder_of(target_).string()) : 0;
    if (reason != 0) throw_output(path_, std::strerror(reason), "");
}

void AtomicFile::commit() {
    try {
        publish();
    } catch (...) {
        if (descriptor_ >= 0) ::close(std::exchange(descriptor_, -1));
        if (!part_.empty()) ::unlink(part_.c_str());
        throw;
    }
}

void write_file(const std::string& path, std::string_view bytes) {
    AtomicFile file(path);
    file.write(bytes);
    file.commit();
}

std::string read_file(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) throw_input(path, "", std::strerror(errno), "");
    std::ostringstream bytes;
    bytes << file.rdbuf();
    return std::move(bytes).str();
}

} // namespace lull
