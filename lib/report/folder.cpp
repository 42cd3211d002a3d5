// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/folder.hpp"

#include "error.hpp"
#include "recording/atomic_file.hpp"
#include "recording/digest.hpp"
#include "report/folder_place.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

namespace fs = std::filesystem;

void remove_folder(const std::string& path) {
    std::error_code ignored;
    fs::remove_all(path, ignored);
}

/// Whether a folder that a killed run left had only begun to grow: its record is written before
/// anything of a user's comes into it.
bool never_was_whole(const std::string& left) {
    std::error_code fault;
    const auto log_bytes = fs::file_size(fs::path(left) / log_name, fault);
    return fs::path(left).filename().string().starts_with(".") && (fault || log_bytes == 0);
}

} // namespace

OutputFolder::OutputFolder(std::string path, std::string tool, std::span<const std::string> inputs)
    : shown_(std::move(path)), tool_(std::move(tool)), final_(settled_path(shown_)) {
    for (const std::string& input : inputs)
        if (is_replaced_with(final_, tool_, input))
            throw_usage(shown_ + ": would replace its own input " + input, "give another folder");
    lock_.emplace(final_, shown_);
    put_back(final_, tool_, shown_);
    look_at_what_is_there();
    begin_part();
    try {
        mark_unfinished();
    } catch (...) { // no destructor runs
        unmark();
        remove_folder(part_);
        throw;
    }
}

/// Nobody else is at work here: what lies beside the folder under such names, killed runs left.
void OutputFolder::recover() {
    for (const std::string& left : folders_left(final_)) {
        if (never_was_whole(left)) {
            remove_folder(left);
            continue;
        }
        const std::optional<FolderRecord> record = read_record(left, tool_);
        KnownFiles known;
        try {
            if (record) static_cast<void>(retire(left, *record, final_, known));
        } catch (const Error&) { // it stays until a run can
        }
    }
}

void OutputFolder::begin_part() {
    recover();
    std::error_code fault;
    const std::string part = part_name(final_);
    if (!fs::create_directory(part, fault))
        fail("the folder that holds it: " + (fault ? fault.message() : part + " is in the way"),
             "give a place in a folder that exists and can be written");
    part_ = part;
    digests_.clear();
}

void OutputFolder::look_at_what_is_there() {
    std::error_code fault;
    const fs::file_status status = fs::status(final_, fault);
    was_there_ = fs::exists(status);
    if (was_there_ && !fs::is_directory(status))
        fail("is a file", "give a folder that is new, empty, or written by " + tool_);
    if (!was_there_) return;
    for (const std::string_view name : {log_name, unfinished_name})
        remove_stale_parts((fs::path(final_) / name).string());
    if (fs::is_empty(final_, fault)) return;
    if (fault) fail(fault.message(), "give a folder that can be read");
    std::optional<FolderRecord> record = read_record(final_, tool_);
    if (!record)
        fail("holds files that " + tool_ + " did not write",
             "give a folder that is new, empty, or written by " + tool_);
    record_ = std::move(*record);
}

/// The folder of a run that was killed must not pass for a result, be it an earlier one.
void OutputFolder::mark_unfinished() {
    const fs::path place(final_);
    std::error_code fault;
    fs::create_directory(place, fault);
    if (fault) fail(fault.message(), "");
    try {
        if (!record_.whole)
            write_file((place / log_name).string(), log_text(tool_, "", record_.runs));
        write_file((place / unfinished_name).string(),
                   "UNFINISHED\n\nA run of " + tool_ +
                       " that is to write this folder has not finished.\n" +
                       (record_.whole ? "The other files here are from an earlier run.\n" : "") +
                       "If it is no longer at work, run the same command again"
                       " (lull-review: with --resume,\nto keep what was done).\n");
    } catch (const Error& error) {
        throw_output(shown_, error.fault, error.mend);
    }
}

void OutputFolder::unmark() const {
    const fs::path place(final_);
    std::error_code ignored;
    fs::remove(place / unfinished_name, ignored);
    if (record_.whole) return;
    // What a user put there meanwhile needs it: the folder is known by it.
    const fs::directory_iterator entries(place, ignored);
    if (std::distance(begin(entries), end(entries)) == 1) fs::remove(place / log_name, ignored);
    if (!was_there_) fs::remove(place, ignored);
}

OutputFolder::~OutputFolder() {
    if (settled_.valid()) settled_.wait();
    if (part_.empty()) return;
    try {
        remove_folder(part_);
        if (!stays_unfinished_) unmark();
    } catch (...) { // out of memory: the next run does it
    }
}

std::string OutputFolder::beside(const std::string& word) const {
    const fs::path place(final_);
    return (place.parent_path() / ("." + place.filename().string() + "." + word)).string();
}

void OutputFolder::fail(const std::string& what, const std::string& mend) const {
    throw_output(shown_, what, mend);
}

std::string OutputFolder::path_of(const std::string& name) {
    const fs::path place(name);
    return (fs::path(folder_of(place.parent_path().string())) / place.filename()).string();
}

std::string OutputFolder::folder_of(const std::string& name) {
    const fs::path path = name.empty() ? fs::path(part_) : fs::path(part_) / name;
    std::error_code fault;
    fs::create_directories(path, fault);
    if (fault) fail(fault.message(), "");
    return path.string();
}

void OutputFolder::write(const std::string& name, std::string_view bytes) {
    try {
        write_file(path_of(name), bytes);
    } catch (const Error& error) {
        throw as_shown(error);
    }
    std::string digest = sha256_of_text(bytes);
    const std::scoped_lock lock(digesting_);
    digests_[name] = std::move(digest);
}

/// The user knows the folder by its own name, not by the one it has while it grows.
Error OutputFolder::as_shown(const Error& fault) const {
    if (part_.empty()) return fault;
    const fs::path within = fs::path(fault.file).lexically_relative(part_);
    if (within.empty() || within.begin()->string() == "..") return fault;
    return {fault.kind, (fs::path(shown_) / within).string(), fault.place, fault.fault, fault.mend};
}

/// Files that are written under their final name, relative to the folder.
std::vector<std::string> OutputFolder::files() const {
    std::vector<std::string> names;
    for (const auto& entry : fs::recursive_directory_iterator(part_))
        if (entry.is_regular_file())
            names.push_back(entry.path().lexically_relative(part_).generic_string());
    return names;
}

std::string OutputFolder::digest_of(const std::string& name) const {
    return sha256_of_file((fs::path(part_) / name).string());
}

void OutputFolder::settle() {
    settled_ = std::async(std::launch::async, [this] { force_to_disk(); });
}

void OutputFolder::write_digests() {
    if (settled_.valid()) settled_.get();
    for (const std::string& name : files())
        if (!digests_.contains(name)) digests_[name] = digest_of(name);
    digests_text_ = digests_text(digests_);
    write(std::string(digests_name), digests_text_);
}

/// Once for all files: one by one costs more than all the analysis.
void OutputFolder::force_to_disk() const {
    const int descriptor = ::open(part_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    const bool safe = descriptor >= 0 && ::syncfs(descriptor) == 0;
    const int reason = errno;
    if (descriptor >= 0) ::close(descriptor);
    if (!safe) fail(std::strerror(reason), "");
}

void OutputFolder::share() {
    shared_ = true;
    record_.runs.clear();
    static_cast<void>(files_of_user());
}

std::vector<CarriedFile> OutputFolder::files_of_user() {
    try {
        std::vector<CarriedFile> files = plan_carrying(entries_of(final_, record_, known_), part_);
        const auto file = std::ranges::find(files, false, &CarriedFile::is_folder);
        if (shared_ && file != files.end())
            fail("holds " + file->from + ", which " + tool_ +
                     " did not write and which would be handed on",
                 "give another folder");
        return files;
    } catch (const Error& error) {
        throw Error(error.kind, shown_, "", error.fault, error.mend);
    }
}

void OutputFolder::list_in_read_first(const std::vector<CarriedFile>& carried) {
    const std::string list = carried_list(carried);
    if (list.empty()) return;
    std::error_code fault;
    const fs::path place = fs::path(part_) / first_name;
    const std::string text = fs::exists(place, fault) ? read_file(place.string()) + "\n" : "";
    write(std::string(first_name), text + list);
}

void OutputFolder::publish(std::string_view run) {
    const std::vector<CarriedFile> carried = files_of_user();
    list_in_read_first(carried);
    write_digests();
    put_in_place(run, carried);
}

void OutputFolder::publish_unfinished(std::string_view run, const std::string& why) {
    const std::vector<CarriedFile> carried = files_of_user();
    list_in_read_first(carried);
    write_digests();
    write(std::string(unfinished_name), "UNFINISHED\n\n" + why);
    put_in_place(run, carried);
    was_there_ = true;
    begin_part();
}

std::optional<std::uint64_t> OutputFolder::room_bytes() const {
    std::error_code fault;
    const fs::space_info space = fs::space(fs::path(final_).parent_path(), fault);
    if (fault) return std::nullopt;
    return space.available;
}

void OutputFolder::put_in_place(std::string_view run, const std::vector<CarriedFile>& carried) {
    FolderRecord record{record_.runs, true, false, digests_};
    record.digests.erase(std::string(digests_name));
    record.digests.erase(std::string(unfinished_name));
    force_to_disk();
    // From here on what lies beside the place is a whole folder: see recover().
    write(std::string(log_name),
          log_text(tool_, digests_text_, record_.runs + std::string(run) + "\n"));
    link_files(final_, part_, carried);
    force_to_disk();
    const std::string earlier = lull::put_in_place(part_, final_, shown_);
    part_.clear();
    const int reason = force_names_to_disk(fs::path(final_).parent_path().string());
    if (reason != 0)
        fail(std::string("is in its place, but not safe from a loss of power: ") +
                 std::strerror(reason),
             "");
    retire_earlier(earlier);
    record_ = std::move(record);
}

void OutputFolder::retire_earlier(const std::string& earlier) {
    const std::vector<std::string> left = retire(earlier, record_, final_, known_);
    if (left.empty()) return;
    const std::string seen = earlier_name(final_);
    const bool renamed = earlier == seen || ::rename(earlier.c_str(), seen.c_str()) == 0;
    fail("is in its place, but " + left.front() + " could not be carried over",
         "take it from " + (renamed ? seen : earlier));
}

} // namespace lull
