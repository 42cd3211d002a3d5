// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/folder.hpp"

#include "error.hpp"
#include "recording/atomic_file.hpp"
#include "recording/digest.hpp"

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

constexpr std::string_view log_name = "run.log", digests_name = "SHA256SUMS",
                           unfinished_name = "UNFINISHED.txt";

/// The first line of run.log, by which a folder is known again.
std::string marker_of(const std::string& tool) {
    return "Folder written by " + tool + "\n";
}

std::string file_text(const fs::path& path) {
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), {}};
}

/// The path without links, dots and a slash at its end, so that its parent is a folder's name.
fs::path settled(const std::string& path) {
    std::error_code fault;
    fs::path whole = fs::weakly_canonical(fs::absolute(path, fault), fault);
    if (fault) whole = fs::absolute(path, fault).lexically_normal();
    return whole.has_filename() ? whole : whole.parent_path();
}

bool lies_in(const fs::path& file, const fs::path& folder) {
    const fs::path relative = file.lexically_relative(folder);
    return !relative.empty() && *relative.begin() != "..";
}

} // namespace

OutputFolder::OutputFolder(std::string path, std::string tool, std::span<const std::string> inputs)
    : shown_(std::move(path)), tool_(std::move(tool)), final_(settled(shown_).string()) {
    for (const std::string& input : inputs)
        if (lies_in(settled(input), final_))
            throw_usage(shown_ + ": would replace its own input " + input, "give another folder");
    lock_.emplace(final_, shown_);
    look_at_what_is_there();
    remove_stale_parts(final_);
    begin_part();
    try {
        mark_unfinished();
    } catch (...) { // no destructor runs
        unmark();
        std::error_code ignored;
        fs::remove_all(part_, ignored);
        throw;
    }
}

void OutputFolder::begin_part() {
    std::error_code fault;
    const std::string part = part_name(final_);
    fs::remove_all(part, fault);
    if (!fs::create_directory(part, fault))
        fail("the folder that holds it: " + (fault ? fault.message() : "cannot be written"),
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
    const std::string log = file_text(fs::path(final_) / log_name);
    if (!log.starts_with(marker_of(tool_)))
        fail("holds files that " + tool_ + " did not write",
             "give a folder that is new, empty, or written by " + tool_);
    old_log_ = log.substr(marker_of(tool_).size());
    was_written_ = fs::exists(fs::path(final_) / digests_name, fault);
}

/// The folder of a run that was killed must not pass for a result, be it an earlier one.
void OutputFolder::mark_unfinished() {
    const fs::path place(final_);
    std::error_code fault;
    fs::create_directory(place, fault);
    if (fault) fail(fault.message(), "");
    try {
        if (!was_written_) write_file((place / log_name).string(), marker_of(tool_) + old_log_);
        write_file((place / unfinished_name).string(),
                   "UNFINISHED\n\nA run of " + tool_ +
                       " that is to write this folder has not finished.\n" +
                       (was_written_ ? "The other files here are from an earlier run.\n" : "") +
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
    if (was_written_) return;
    fs::remove(place / log_name, ignored);
    if (!was_there_) fs::remove(place, ignored);
}

OutputFolder::~OutputFolder() {
    if (settled_.valid()) settled_.wait();
    if (part_.empty()) return;
    std::error_code ignored;
    fs::remove_all(part_, ignored);
    if (!stays_unfinished_) unmark();
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
    std::string text;
    for (const auto& [name, digest] : digests_)
        text += digest + "  " + name + "\n";
    write(std::string(digests_name), text);
}

/// Once for all files: one by one costs more than all the analysis.
void OutputFolder::force_to_disk() const {
    const int descriptor = ::open(part_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    const bool safe = descriptor >= 0 && ::syncfs(descriptor) == 0;
    const int reason = errno;
    if (descriptor >= 0) ::close(descriptor);
    if (!safe) fail(std::strerror(reason), "");
}

void OutputFolder::publish(std::string_view run) {
    write_digests();
    put_in_place(run);
}

void OutputFolder::publish_unfinished(std::string_view run, const std::string& why) {
    write_digests();
    write(std::string(unfinished_name), "UNFINISHED\n\n" + why);
    put_in_place(run);
    was_there_ = was_written_ = true;
    begin_part();
}

std::optional<std::uint64_t> OutputFolder::room_bytes() const {
    std::error_code fault;
    const fs::space_info space = fs::space(fs::path(final_).parent_path(), fault);
    if (fault) return std::nullopt;
    return space.available;
}

void OutputFolder::put_in_place(std::string_view run) {
    write(std::string(log_name), marker_of(tool_) + old_log_ + std::string(run) + "\n");
    force_to_disk();
    std::error_code fault;
    if (::renameat2(AT_FDCWD, part_.c_str(), AT_FDCWD, final_.c_str(), RENAME_EXCHANGE) == 0) {
        fs::remove_all(part_, fault); // what was there before
        part_.clear();
        return;
    }
    // Not every file system can exchange two names.
    fs::remove_all(final_, fault);
    if (fault) fail("cannot be replaced: " + fault.message(), "give another folder");
    if (::rename(part_.c_str(), final_.c_str()) != 0)
        fail(std::strerror(errno), "give another folder");
    part_.clear();
}

} // namespace lull
