// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/listing.hpp"

#include "error.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <string_view>

namespace lull {
namespace {

namespace fs = std::filesystem;

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/// The digits that a text begins with, without leading zeros.
std::string_view number_at(std::string_view text) {
    std::size_t end = 0, zeros = 0;
    while (end < text.size() && is_digit(text[end]))
        ++end;
    while (zeros < end && text[zeros] == '0')
        ++zeros;
    return text.substr(zeros, end - zeros);
}

/// Orders names as a recorder numbers them: take-9 before take-10.
bool before_by_name(std::string_view a, std::string_view b) {
    std::string_view left = a, right = b;
    while (!left.empty() && !right.empty()) {
        if (is_digit(left[0]) && is_digit(right[0])) {
            const std::string_view m = number_at(left), n = number_at(right);
            if (m.size() != n.size()) return m.size() < n.size();
            if (m != n) return m < n;
            left.remove_prefix(static_cast<std::size_t>(m.data() + m.size() - left.data()));
            right.remove_prefix(static_cast<std::size_t>(n.data() + n.size() - right.data()));
        } else if (left[0] != right[0]) {
            return left[0] < right[0];
        } else {
            left.remove_prefix(1);
            right.remove_prefix(1);
        }
    }
    if (left.empty() != right.empty()) return left.empty();
    return a < b;
}

/// The one path of a file, without links and dots.
std::string settled(const fs::path& path) {
    std::error_code fault;
    const fs::path whole = fs::weakly_canonical(path, fault);
    return fault ? path.lexically_normal().string() : whole.string();
}

bool is_written_by_lull(const fs::path& folder) {
    std::ifstream log(folder / "run.log");
    std::string line;
    return std::getline(log, line) && line.starts_with("Folder written by lull-");
}

void add_folder(const fs::path& folder, const std::set<std::string>& not_inputs,
                std::vector<ListedFile>& files, std::vector<Notice>& notices) {
    std::error_code fault;
    for (const auto& entry : fs::directory_iterator(folder, fault)) {
        const std::string name = entry.path().filename().string();
        if (name.starts_with('.') || not_inputs.contains(settled(entry.path()))) continue;
        std::error_code ignored;
        if (!entry.is_directory(ignored))
            files.push_back({entry.path().string(), name});
        else if (!is_written_by_lull(entry.path()))
            notices.push_back({name + "/",
                               "skipped: a folder within a folder; name it to have its files "
                               "analysed",
                               true});
    }
    if (fault) throw_input(folder.string(), "", fault.message(), "give a folder that can be read");
    std::ranges::sort(notices, {}, &Notice::file);
}

/// Adds the folder's name to files of one name in several folders.
void tell_apart(std::vector<ListedFile>& files) {
    std::map<std::string, int> count;
    for (const ListedFile& file : files)
        ++count[file.label];
    for (ListedFile& file : files)
        if (count[file.label] > 1)
            file.label =
                (fs::path(settled(file.path)).parent_path().filename() / file.label).string();
}

} // namespace

std::vector<ListedFile> list_files(std::span<const std::string> inputs,
                                   std::span<const std::string> not_inputs,
                                   std::vector<Notice>& notices) {
    std::set<std::string> others;
    for (const std::string& file : not_inputs)
        others.insert(settled(file));
    std::vector<ListedFile> named, files;
    for (const std::string& input : inputs) {
        std::error_code ignored;
        if (fs::is_directory(input, ignored))
            add_folder(input, others, named, notices);
        else if (!others.contains(settled(input)))
            named.push_back({input, fs::path(input).filename().string()});
    }
    std::set<std::string> seen;
    for (ListedFile& file : named)
        if (seen.insert(settled(file.path)).second) files.push_back(std::move(file));
    tell_apart(files);
    std::ranges::sort(files, [](const ListedFile& a, const ListedFile& b) {
        if (a.label != b.label) return before_by_name(a.label, b.label);
        return a.path < b.path;
    });
    return files;
}

} // namespace lull
