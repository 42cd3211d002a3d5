// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/named_file.hpp"

#include <filesystem>

namespace lull {
namespace {

namespace fs = std::filesystem;

bool begins_upwards(const fs::path& path) {
    return path.is_absolute() || (!path.empty() && *path.begin() == "..");
}

} // namespace

bool leads_outside(const std::string& naming_file, const std::string& named) {
    if (begins_upwards(fs::path(named).lexically_normal())) return true;
    fs::path folder = fs::path(naming_file).parent_path();
    if (folder.empty()) folder = ".";
    std::error_code fault;
    const fs::path root = fs::weakly_canonical(fs::absolute(folder), fault);
    if (fault) return true;
    const fs::path target = fs::weakly_canonical(fs::absolute(folder) / named, fault);
    return fault || begins_upwards(target.lexically_relative(root));
}

} // namespace lull
