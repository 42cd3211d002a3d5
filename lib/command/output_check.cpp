// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/output_check.hpp"

#include "error.hpp"
#include "recording/written_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <unistd.h>

namespace lull {
namespace {

namespace fs = std::filesystem;

void check_ending(const NamedOutput& output) {
    const std::string ending = ending_of(*output.path);
    const bool stated = output.format != nullptr && !output.format->empty();
    if (stated || ending.empty() || output.endings.empty() ||
        std::ranges::find(output.endings, ending) != output.endings.end())
        return;
    throw_usage(
        fmt::format("{}: {}: no {} file is written here", output.option, *output.path, ending),
        fmt::format("give a name that ends in {}{}", fmt::join(output.endings, " or "),
                    output.format != nullptr ? ", or say --format csv, json or jsonl" : ""));
}

void need_write_access(const fs::path& place, const std::string& shown) {
    const int way = fs::is_directory(place) ? W_OK | X_OK : W_OK;
    if (::access(place.c_str(), way) != 0)
        throw_output(shown, std::strerror(errno), "give a place that can be written");
}

/// Checks the folder that a new file is to be made in.
void check_parent(const fs::path& target, const std::string& shown) {
    const fs::path parent = target.has_parent_path() ? target.parent_path() : fs::path(".");
    std::error_code fault;
    const fs::file_status status = fs::status(parent, fault);
    if (!fs::exists(status))
        throw_output(shown, fault ? fault.message() : std::strerror(ENOENT),
                     "give a place in a folder that exists");
    if (!fs::is_directory(status))
        throw_output(shown, std::strerror(ENOTDIR), "give a place in a folder that exists");
    need_write_access(parent, shown);
}

void check_file(const std::string& path) {
    std::error_code fault;
    const fs::path target =
        fs::is_symlink(path, fault) ? fs::weakly_canonical(path, fault) : fs::path(path);
    const fs::file_status status = fs::status(target, fault);
    if (fs::is_directory(status)) throw_output(path, "is a folder", "give a file");
    if (fs::exists(status) && !fs::is_regular_file(status))
        need_write_access(target, path); // a device or a pipe is written in place
    else
        check_parent(target, path);
}

void check_folder(const std::string& path) {
    std::error_code fault;
    fs::path target = fs::absolute(path, fault).lexically_normal();
    if (!target.has_filename()) target = target.parent_path();
    const fs::file_status status = fs::status(target, fault);
    if (fs::exists(status) && !fs::is_directory(status))
        throw_output(path, "is a file", "give a folder");
    if (fs::exists(status))
        need_write_access(target, path);
    else
        check_parent(target, path);
}

} // namespace

std::string ending_of(const std::string& path) {
    return lower_case(fs::path(path).extension().string());
}

void check_outputs(const std::vector<NamedOutput>& outputs) {
    for (const NamedOutput& output : outputs) {
        if (output.path->empty()) continue;
        check_ending(output);
        if (output.is_folder)
            check_folder(*output.path);
        else
            check_file(*output.path);
    }
}

} // namespace lull
