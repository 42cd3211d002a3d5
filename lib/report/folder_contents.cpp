// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/folder_contents.hpp"

#include "error.hpp"
#include "recording/digest.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <fcntl.h>
#include <filesystem>
#include <set>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

namespace fs = std::filesystem;

/// \return none when there is no such file
std::optional<FileState> state_of(const fs::path& path) {
    struct stat file = {};
    if (::lstat(path.c_str(), &file) != 0) return std::nullopt;
    return FileState(file.st_dev, file.st_ino, file.st_size, file.st_ctim.tv_sec,
                     file.st_ctim.tv_nsec);
}

/// Whether a file holds what lull wrote. One that cannot be read may be anybody's.
bool is_as_written(const fs::path& path, const std::string& name, const std::string& digest,
                   KnownFiles& known) {
    const std::optional<FileState> state = state_of(path);
    const auto found = known.find(name);
    if (found != known.end() && found->second == state) return true;
    try {
        if (sha256_of_file(path.string()) != digest) return false;
    } catch (const Error&) {
        return false;
    }
    if (state) known[name] = *state;
    return true;
}

/// \throws Error(output)
template <class Visit>
void for_each_below(const std::string& folder, const Visit& visit) {
    try {
        for (const auto& entry : fs::recursive_directory_iterator(folder))
            visit(entry);
    } catch (const fs::filesystem_error& fault) {
        throw_output(folder, "what lies in it cannot be listed: " + fault.code().message(),
                     "let it be read, or give another folder");
    }
}

/// Every folder on the way to a file that lull wrote.
std::set<std::string> folders_of(const FolderRecord& record) {
    std::set<std::string> folders;
    for (const auto& [name, digest] : record.digests)
        for (fs::path way = fs::path(name).parent_path(); !way.empty(); way = way.parent_path())
            if (!folders.insert(way.generic_string()).second) break;
    return folders;
}

Owner owner_of(const fs::directory_entry& entry, const std::string& name,
               const FolderRecord& record, KnownFiles& known) {
    if (name == digests_name && record.changed) return Owner::changed;
    if (is_of_record(name)) return Owner::lull;
    const auto listed = record.digests.find(name);
    if (listed == record.digests.end()) return Owner::user;
    const bool regular = entry.symlink_status().type() == fs::file_type::regular;
    return regular && is_as_written(entry.path(), name, listed->second, known) ? Owner::lull
                                                                               : Owner::changed;
}

/// "notes-kept-2.csv" of "notes.csv"
std::string kept_name(const fs::path& name, int number) {
    const std::string count = number == 1 ? "" : fmt::format("-{}", number);
    return name.stem().string() + "-kept" + count + name.extension().string();
}

/// Names that are taken in the folder that the files go to.
class Places {
  public:
    explicit Places(fs::path into) : into_(std::move(into)) {}

    std::string find(const FolderEntry& entry) {
        const fs::path name(entry.name);
        if (entry.is_folder) return find_folder(name).generic_string();
        const bool rename = entry.owner == Owner::changed;
        const fs::path place = first_free(
            find_folder(name.parent_path()) / name.filename(),
            [this](const fs::path& path) { return is_taken(path); }, rename);
        taken_.insert(place.generic_string());
        return place.generic_string();
    }

  private:
    [[nodiscard]] fs::path find_folder(const fs::path& name) const {
        fs::path way;
        for (const fs::path& part : name)
            way = first_free(way / part, [this](const fs::path& path) { return is_file(path); });
        return way;
    }

    template <class Taken>
    static fs::path first_free(const fs::path& wanted, const Taken& taken, bool rename = false) {
        if (!rename && !taken(wanted)) return wanted;
        for (int number = 1;; ++number) {
            fs::path place = wanted.parent_path() / kept_name(wanted.filename(), number);
            if (!taken(place)) return place;
        }
    }

    [[nodiscard]] bool is_file(const fs::path& name) const {
        const fs::file_type type = fs::symlink_status(into_ / name).type();
        return taken_.contains(name.generic_string()) ||
               (type != fs::file_type::not_found && type != fs::file_type::directory);
    }

    [[nodiscard]] bool is_taken(const fs::path& name) const {
        const std::string text = name.generic_string();
        return taken_.contains(text) || is_of_record(text) || text == first_name ||
               fs::symlink_status(into_ / name).type() != fs::file_type::not_found;
    }

    fs::path into_;
    std::set<std::string> taken_;
};

/// Makes the folder of a user's, and those on the way, as they are in the other folder.
void make_folders(const fs::path& from, const fs::path& into, const fs::path& name) {
    if (name.empty()) return;
    make_folders(from.parent_path(), into, name.parent_path());
    const fs::path made = into / name;
    struct stat original = {};
    if (::mkdir(made.c_str(), 0777) != 0 || ::stat(from.c_str(), &original) != 0) return;
    // As far as the system lets us; the files in it matter more.
    static_cast<void>(::chown(made.c_str(), original.st_uid, original.st_gid) == 0 &&
                      ::chmod(made.c_str(), original.st_mode & 07777) == 0);
}

bool move_file(const fs::path& from, const fs::path& to) {
    if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0)
        return true;
    // Not every file system can promise that; the name was free.
    return errno != EEXIST && ::rename(from.c_str(), to.c_str()) == 0;
}

/// \param move  whether the file loses its first name. \return whether it lies in `into` then
bool carry(const fs::path& folder, const fs::path& into, const CarriedFile& file, bool move) {
    const fs::path from = folder / file.from, to = into / file.to;
    if (file.is_folder) {
        make_folders(from, into, file.to);
        return fs::is_directory(fs::symlink_status(to));
    }
    make_folders(from.parent_path(), into, fs::path(file.to).parent_path());
    if (move) return move_file(from, to);
    return ::linkat(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), 0) == 0;
}

/// Device and inode of every file below a folder.
std::set<std::pair<dev_t, ino_t>> files_below(const std::string& folder) {
    std::set<std::pair<dev_t, ino_t>> files;
    for_each_below(folder, [&](const fs::directory_entry& entry) {
        if (const auto state = state_of(entry.path()))
            files.insert({std::get<0>(*state), std::get<1>(*state)});
    });
    return files;
}

/// What still has to be moved: a file may lie in the new folder already, by a second name.
std::vector<FolderEntry> not_there_yet(const std::string& folder, const std::string& into,
                                       const std::vector<FolderEntry>& entries) {
    const bool none = std::ranges::all_of(
        entries, [](const FolderEntry& entry) { return entry.owner == Owner::lull; });
    if (none) return {};
    const auto there = files_below(into);
    std::vector<FolderEntry> missing;
    for (const FolderEntry& entry : entries) {
        const auto state = state_of(fs::path(folder) / entry.name);
        const bool linked = state && there.contains({std::get<0>(*state), std::get<1>(*state)});
        if (entry.owner == Owner::lull || entry.is_folder || !linked) missing.push_back(entry);
    }
    return missing;
}

/// By name and never whole: a file that comes meanwhile stays, and the folder with it.
void remove_entries(const fs::path& folder, const std::vector<FolderEntry>& entries) {
    for (auto entry = entries.rbegin(); entry != entries.rend(); ++entry)
        if (!entry->is_folder && !is_of_record(entry->name))
            ::unlink((folder / entry->name).c_str());
    for (auto entry = entries.rbegin(); entry != entries.rend(); ++entry)
        if (entry->is_folder && ::rmdir((folder / entry->name).c_str()) != 0) return;
    for (const FolderEntry& entry : entries)
        if (is_of_record(entry.name) && entry.name != log_name)
            ::unlink((folder / entry.name).c_str());
    ::unlink((folder / log_name).c_str()); // the last, since it tells whose the folder is
    ::rmdir(folder.c_str());
}

} // namespace

std::vector<FolderEntry> entries_of(const std::string& folder, const FolderRecord& record,
                                    KnownFiles& known) {
    const std::set<std::string> of_lull = folders_of(record);
    std::vector<FolderEntry> entries;
    for_each_below(folder, [&](const fs::directory_entry& entry) {
        const std::string name = entry.path().lexically_relative(folder).generic_string();
        const bool is_folder = entry.symlink_status().type() == fs::file_type::directory;
        const Owner owner = is_folder ? of_lull.contains(name) ? Owner::lull : Owner::user
                                      : owner_of(entry, name, record, known);
        entries.push_back({name, owner, is_folder});
    });
    std::ranges::sort(entries, {}, &FolderEntry::name);
    return entries;
}

std::vector<CarriedFile> plan_carrying(const std::vector<FolderEntry>& entries,
                                       const std::string& into) {
    std::set<std::string> not_empty;
    for (const FolderEntry& entry : entries)
        not_empty.insert(fs::path(entry.name).parent_path().generic_string());
    Places places(into);
    std::vector<CarriedFile> files;
    for (const FolderEntry& entry : entries) {
        if (entry.owner == Owner::lull || not_empty.contains(entry.name)) continue;
        files.push_back({entry.name, places.find(entry), entry.owner, entry.is_folder});
    }
    return files;
}

void link_files(const std::string& folder, const std::string& into,
                const std::vector<CarriedFile>& files) {
    for (const CarriedFile& file : files)
        static_cast<void>(carry(folder, into, file, false));
}

std::vector<std::string> retire(const std::string& folder, const FolderRecord& record,
                                const std::string& into, KnownFiles& known) {
    std::vector<std::string> left;
    const std::vector<FolderEntry> entries = entries_of(folder, record, known);
    for (const CarriedFile& file : plan_carrying(not_there_yet(folder, into, entries), into))
        if (!carry(folder, into, file, true)) left.push_back(file.from);
    if (left.empty()) remove_entries(folder, entries);
    return left;
}

std::string carried_list(const std::vector<CarriedFile>& files) {
    std::string text;
    for (const CarriedFile& file : files) {
        if (file.is_folder) continue;
        std::string line = "  " + valid_utf8(file.to);
        if (file.owner == Owner::changed)
            line += ": " + valid_utf8(file.from) + " as somebody changed it";
        else if (file.to != file.from)
            line += ": was " + valid_utf8(file.from);
        std::ranges::replace_if(
            line, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }, ' ');
        text += line + "\n";
    }
    if (text.empty()) return text;
    return "Files that lull did not write. They lay in the folder that this one replaced and were\n"
           "carried over as they were, whatever they hold. SHA256SUMS does not list them:\n" +
           text;
}

} // namespace lull
