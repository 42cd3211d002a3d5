// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/shared_file.hpp"

#include <filesystem>

namespace lull {

namespace fs = std::filesystem;

std::string shared_file(const std::string& name) {
    std::error_code fault;
    const fs::path program = fs::read_symlink("/proc/self/exe", fault);
    if (fault) return "";
    for (const char* data : {"../share/lull", "../data"}) {
        const fs::path path = program.parent_path() / data / name;
        if (fs::is_regular_file(path, fault)) return path.lexically_normal().string();
    }
    return "";
}

std::string with_shared_file(const std::string& named, const std::string& folder) {
    std::error_code fault;
    if (named.empty() || fs::path(named).has_parent_path() || fs::exists(named, fault))
        return named;
    for (const char* ending : {"", ".json"})
        if (std::string shared = shared_file(folder + named + ending); !shared.empty())
            return shared;
    return named;
}

} // namespace lull
