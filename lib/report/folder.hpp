// SPDX-License-Identifier: GPL-3.0-or-later
//
// An output folder: it has its name only when it is whole.
#pragma once

#include "error.hpp"
#include "report/folder_contents.hpp"
#include "report/folder_lock.hpp"
#include "report/folder_record.hpp"

#include <cstdint>
#include <future>
#include <map>
#include <mutex>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// Builds a folder beside its final place and puts it there at the end. A folder that the same tool
/// wrote earlier (its run.log says so) is replaced whole, stale files included; what of it is the
/// user's (see folder_contents.hpp) is carried over, and READ-FIRST.txt lists it: by its names, so
/// that nothing else that lull writes depends on it. Any other folder that is not empty is refused.
/// At every moment one whole folder is there (see folder_place.hpp). Until the end the one under
/// the final name holds UNFINISHED.txt, so that what a killed run leaves says what it is.
class OutputFolder {
  public:
    /// \param path    as the user wrote it
    /// \param tool    "lull-review": who writes it
    /// \param inputs  files that are read: none of them may be one that is replaced
    /// \throws Error(output) when the folder is someone else's, is being written by another run, or
    ///         cannot be created beside its place, Error(usage) when an input would be replaced
    OutputFolder(std::string path, std::string tool, std::span<const std::string> inputs);
    ~OutputFolder(); ///< without publish() nothing stays, unless leave_unfinished()
    OutputFolder(const OutputFolder&) = delete;
    OutputFolder& operator=(const OutputFolder&) = delete;

    /// Where a file of the folder is to be written now; folders on the way are made.
    /// \param name  relative, with '/' : "excerpts/event-003-stairwell.flac". \throws Error(output)
    [[nodiscard]] std::string path_of(const std::string& name);
    /// Where a folder of the folder (empty: itself) is now; it is made. \throws Error(output)
    [[nodiscard]] std::string folder_of(const std::string& name);
    /// A name beside the folder that belongs to it: ".NAME.word".
    [[nodiscard]] std::string beside(const std::string& word) const;
    /// When the run fails, the folder goes on saying that it is unfinished: it can be resumed.
    void leave_unfinished() { stays_unfinished_ = true; }
    /// Writes a whole file. Several threads may, each its own. \throws Error(output)
    void write(const std::string& name, std::string_view bytes);
    /// A fault of a file written at path_of(), under the name that the user knows.
    [[nodiscard]] Error as_shown(const Error& fault) const;

    /// Sends what was written so far to the disk while the caller goes on. Once at most.
    void settle();
    /// The folder is to be handed on: what an earlier run.log said is not kept, for it names people
    /// and paths, and nothing that lull did not write. \throws Error(output) when the folder holds
    /// such a file, as publish() then does
    void share();
    /// Writes SHA256SUMS (all files of lull's but itself and run.log, in order of name) and run.log
    /// (what an earlier run.log of the folder said, then `run`), and puts the folder in its place.
    /// It is on the disk then, with its name.
    /// \param run  one line: who ran what when. \throws Error(output)
    void publish(std::string_view run);
    /// As publish, but the folder says UNFINISHED and why, and the next one is begun in its stead:
    /// what was written so far is gone from this object. \throws Error(output)
    void publish_unfinished(std::string_view run, const std::string& why);
    /// Bytes that may still be written beside the folder; none: not known.
    [[nodiscard]] std::optional<std::uint64_t> room_bytes() const;

  private:
    void recover();
    void begin_part();
    void put_in_place(std::string_view run, const std::vector<CarriedFile>& carried);
    void retire_earlier(const std::string& earlier);
    [[noreturn]] void fail(const std::string& what, const std::string& mend) const;
    void look_at_what_is_there();
    void mark_unfinished();
    void unmark() const;
    void force_to_disk() const;
    [[nodiscard]] std::vector<CarriedFile> files_of_user();
    void list_in_read_first(const std::vector<CarriedFile>& carried);
    [[nodiscard]] std::vector<std::string> files() const;
    [[nodiscard]] std::string digest_of(const std::string& name) const;
    void write_digests();

    std::string shown_; ///< as the user wrote it
    std::string tool_;
    std::string final_, part_;
    FolderRecord record_; ///< of the folder that is replaced
    KnownFiles known_;    ///< in it
    std::optional<FolderLock> lock_;
    std::mutex digesting_;
    std::map<std::string, std::string> digests_; ///< by name, of what write() wrote
    std::string digests_text_;                   ///< SHA256SUMS
    std::future<void> settled_;
    bool was_there_ = false; ///< the folder, be it empty
    bool shared_ = false;
    bool stays_unfinished_ = false;
};

} // namespace lull
