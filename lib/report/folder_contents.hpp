// SPDX-License-Identifier: GPL-3.0-or-later
//
// Whose the files of an output folder are. What lull did not write is carried into the folder that
// replaces it; nothing of a user's is ever removed.
#pragma once

#include "report/folder_record.hpp"

#include <ctime>
#include <map>
#include <string>
#include <sys/types.h>
#include <tuple>
#include <vector>

namespace lull {

enum class Owner {
    lull,    ///< as it was written
    user,    ///< lull did not write it
    changed, ///< lull wrote it, and it is not what it was: somebody's work too
};

struct FolderEntry {
    std::string name; ///< relative to the folder, with '/'
    Owner owner = Owner::user;
    bool is_folder = false;
};

/// Device, inode, size and time of the last change of a file's content or name.
using FileState = std::tuple<dev_t, ino_t, off_t, std::time_t, long>;
/// Files that were found as lull wrote them, by name.
using KnownFiles = std::map<std::string, FileState>;

/// All that lies in a folder, in order of name, links not followed. A folder is the user's when
/// nothing in it is lull's. \param known  is not read again, and grows. \throws Error(output)
[[nodiscard]] std::vector<FolderEntry> entries_of(const std::string& folder,
                                                  const FolderRecord& record, KnownFiles& known);

/// A file or an empty folder of a user's on its way from one folder to the next.
struct CarriedFile {
    std::string from, to; ///< relative to the one, and to the other
    Owner owner = Owner::user;
    bool is_folder = false;
};

/// Where the user's files are to lie in the folder `into`. A name that is taken there, and any
/// file of lull's that was changed, gets "-kept" behind its stem: notes-kept.csv, notes-kept-2.csv.
[[nodiscard]] std::vector<CarriedFile> plan_carrying(const std::vector<FolderEntry>& entries,
                                                     const std::string& into);

/// Gives each file a second name in `into`, as far as the file system can; the first stays.
void link_files(const std::string& folder, const std::string& into,
                const std::vector<CarriedFile>& files);

/// Removes a folder that was replaced by `into`. What of it is the user's and not in `into` yet is
/// moved there first. \return names that could not be moved; the folder is then left as it is
[[nodiscard]] std::vector<std::string> retire(const std::string& folder, const FolderRecord& record,
                                              const std::string& into, KnownFiles& known);

/// What READ-FIRST.txt says of them; empty when there is none.
[[nodiscard]] std::string carried_list(const std::vector<CarriedFile>& files);

} // namespace lull
