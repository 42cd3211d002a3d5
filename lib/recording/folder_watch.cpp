// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/folder_watch.hpp"

#include "recording/audio_file.hpp"
#include "recording/header.hpp"
#include "recording/internal/listing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fcntl.h>
#include <limits>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

/// times settled_s, for a recorder that never completes its header
constexpr double patience = 6.0;

double seconds_of(const timespec& time) {
    return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
}

} // namespace

bool is_whole_by_header(const std::string& path) {
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (descriptor < 0) return false;
    const FileHandle file(descriptor);
    struct stat status = {};
    if (::fstat(descriptor, &status) != 0 || !S_ISREG(status.st_mode)) return false;
    const HeaderPromise promise = header_promise(
        [descriptor](std::int64_t offset, std::span<unsigned char> into) -> std::size_t {
            const ssize_t got = ::pread(descriptor, into.data(), into.size(), offset);
            return got < 0 ? 0 : static_cast<std::size_t>(got);
        },
        status.st_size);
    return promise.frames.value_or(0) > 0 && !promise.open_ended && !promise.mid_frame &&
           promise.wrong_size.width == 0;
}

FolderWatch::FolderWatch(std::vector<std::string> inputs, double settled_s)
    : inputs_(std::move(inputs)), settled_s_(settled_s) {}

bool FolderWatch::is_finished(const std::string& path, Seen& seen, double latest_s,
                              double now_s) const {
    const double unchanged_s = now_s - seen.unchanged_s;
    if (unchanged_s < settled_s_) return false;
    if (seen.modified_s < latest_s || unchanged_s >= patience * settled_s_) return true;
    if (!std::exchange(seen.examined, true)) seen.whole = is_whole_by_header(path);
    return seen.whole;
}

FolderView FolderWatch::look(std::span<const std::string> not_inputs, double now_s) {
    std::vector<Notice> passed_over; // ignored; they are reported when the recording is opened
    const std::vector<ListedFile> files = list_files(inputs_, not_inputs, passed_over);
    std::map<std::string, Seen> now;
    double latest_s = -std::numeric_limits<double>::infinity();
    for (const ListedFile& file : files) {
        struct stat status = {};
        if (::stat(file.path.c_str(), &status) != 0) continue;
        Seen seen{fmt::format("{} {} {}.{} {}.{}", status.st_ino, status.st_size,
                              status.st_mtim.tv_sec, status.st_mtim.tv_nsec, status.st_ctim.tv_sec,
                              status.st_ctim.tv_nsec),
                  status.st_size, seconds_of(status.st_mtim), now_s};
        if (const auto before = seen_.find(file.path);
            before != seen_.end() && before->second.state == seen.state)
            seen = before->second;
        latest_s = std::max(latest_s, seen.modified_s);
        now.emplace(file.path, std::move(seen));
    }
    seen_ = std::move(now);
    FolderView view;
    for (const ListedFile& file : files)
        if (const auto seen = seen_.find(file.path); seen != seen_.end())
            (is_finished(file.path, seen->second, latest_s, now_s) ? view.finished : view.growing)
                .push_back({file.path, file.label, seen->second.state, seen->second.bytes});
    return view;
}

} // namespace lull
