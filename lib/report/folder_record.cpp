// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/folder_record.hpp"

#include "recording/digest.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <iterator>

namespace lull {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view digest_label = "SHA256SUMS: ";
constexpr std::size_t digest_digits = 64;

/// The first line of run.log, by which a folder is known again.
std::string marker_of(const std::string& tool) {
    return "Folder written by " + tool + "\n";
}

std::string file_text(const fs::path& path) {
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), {}};
}

/// Takes the first line off.
std::string_view next_line(std::string_view& text) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    return line;
}

std::map<std::string, std::string> parse_digests(std::string_view text) {
    std::map<std::string, std::string> digests;
    while (!text.empty()) {
        const std::string_view line = next_line(text);
        if (line.size() > digest_digits + 2)
            digests[std::string(line.substr(digest_digits + 2))] = line.substr(0, digest_digits);
    }
    return digests;
}

} // namespace

std::string settled_path(const std::string& path) {
    std::error_code fault;
    fs::path whole = fs::weakly_canonical(fs::absolute(path, fault), fault);
    if (fault) whole = fs::absolute(path, fault).lexically_normal();
    return (whole.has_filename() ? whole : whole.parent_path()).string();
}

std::optional<FolderRecord> read_record(const std::string& folder, const std::string& tool) {
    const std::string log = file_text(fs::path(folder) / log_name);
    const std::string marker = marker_of(tool);
    if (!log.starts_with(marker)) return std::nullopt;
    std::string_view rest = std::string_view(log).substr(marker.size());
    std::string_view noted;
    if (rest.starts_with(digest_label)) noted = next_line(rest).substr(digest_label.size());
    FolderRecord record;
    record.runs = rest;
    std::error_code fault;
    const fs::path digests = fs::path(folder) / digests_name;
    record.whole = fs::exists(digests, fault);
    if (!record.whole) return record;
    const std::string text = file_text(digests);
    record.changed = !noted.empty() && noted != sha256_of_text(text);
    if (!record.changed) record.digests = parse_digests(text);
    return record;
}

std::string digests_text(const std::map<std::string, std::string>& digests) {
    std::string text;
    for (const auto& [name, digest] : digests)
        text += digest + "  " + name + "\n";
    return text;
}

std::string log_text(const std::string& tool, std::string_view digests, std::string_view runs) {
    std::string text = marker_of(tool);
    if (!digests.empty()) text += std::string(digest_label) + sha256_of_text(digests) + "\n";
    return text + std::string(runs);
}

bool is_of_record(const std::string& name) {
    constexpr std::array names{log_name, digests_name, unfinished_name};
    return std::ranges::any_of(names, [&](std::string_view own) {
        return name == own || name.starts_with("." + std::string(own) + ".part-");
    });
}

bool is_replaced_with(const std::string& folder, const std::string& tool, const std::string& file) {
    const fs::path within = fs::path(settled_path(file)).lexically_relative(settled_path(folder));
    if (within.empty() || *within.begin() == "..") return false;
    if (within == ".") return true;
    const std::string name = within.generic_string();
    const std::optional<FolderRecord> record = read_record(folder, tool);
    return record && (is_of_record(name) || record->digests.contains(name));
}

} // namespace lull
