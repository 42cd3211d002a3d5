// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/folder_place.hpp"

#include "error.hpp"
#include "report/folder_record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <unistd.h>

namespace lull {
namespace {

namespace fs = std::filesystem;

std::string earlier_stem(const fs::path& place) {
    return place.filename().string() + ".earlier-";
}

/// Whether a name is the stem with a number of a process behind it.
bool is_numbered(const std::string& name, const std::string& stem) {
    return name.starts_with(stem) && name.size() > stem.size() &&
           std::all_of(name.begin() + static_cast<std::ptrdiff_t>(stem.size()), name.end(),
                       [](char c) { return c >= '0' && c <= '9'; });
}

/// Folders beside `place` of that kind of name, in order.
std::vector<std::string> folders_named(const fs::path& place, const std::string& stem) {
    std::vector<std::string> paths;
    std::error_code fault;
    for (const auto& entry : fs::directory_iterator(place.parent_path(), fault))
        if (is_numbered(entry.path().filename().string(), stem) &&
            entry.symlink_status(fault).type() == fs::file_type::directory)
            paths.push_back(entry.path().string());
    std::ranges::sort(paths);
    return paths;
}

} // namespace

std::string earlier_name(const std::string& place) {
    const fs::path path(place);
    return (path.parent_path() / fmt::format("{}{}", earlier_stem(path), ::getpid())).string();
}

std::string put_in_place(const std::string& fresh, const std::string& place,
                         const std::string& shown) {
    if (::renameat2(AT_FDCWD, fresh.c_str(), AT_FDCWD, place.c_str(), RENAME_EXCHANGE) == 0)
        return fresh;
    const std::string earlier = earlier_name(place);
    if (::rename(place.c_str(), earlier.c_str()) != 0 && errno != ENOENT)
        throw_output(shown, std::string("cannot be replaced: ") + std::strerror(errno),
                     "give another folder");
    if (::rename(fresh.c_str(), place.c_str()) == 0) return earlier;
    const std::string reason = std::string("cannot be replaced: ") + std::strerror(errno);
    if (::rename(earlier.c_str(), place.c_str()) == 0)
        throw_output(shown, reason, "give another folder");
    throw_output(shown, reason,
                 "what was there is now " + earlier + "; run the same command again");
}

void put_back(const std::string& place, const std::string& tool, const std::string& shown) {
    std::error_code fault;
    for (const std::string& earlier : folders_named(place, earlier_stem(place))) {
        const bool free = !fs::exists(place, fault) || fs::is_empty(place, fault);
        if (!free || !read_record(earlier, tool)) continue;
        if (::rename(earlier.c_str(), place.c_str()) != 0)
            throw_output(shown,
                         std::string("an earlier run left ") + earlier +
                             ", which cannot be put back: " + std::strerror(errno),
                         "give it that name again");
    }
}

std::vector<std::string> folders_left(const std::string& place) {
    const fs::path path(place);
    std::vector<std::string> left = folders_named(path, "." + path.filename().string() + ".part-");
    const std::vector<std::string> earlier = folders_named(path, earlier_stem(path));
    left.insert(left.end(), earlier.begin(), earlier.end());
    // An empty one was about to be removed.
    std::erase_if(left, [](const std::string& folder) { return ::rmdir(folder.c_str()) == 0; });
    return left;
}

} // namespace lull
