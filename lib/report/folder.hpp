// SPDX-License-Identifier: GPL-3.0-or-later
//
// An output folder: it has its name only when it is whole.
#pragma once

#include "error.hpp"
#include "report/folder_lock.hpp"

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
/// wrote earlier (its run.log says so) is replaced whole, stale files included, by one exchange of
/// names; any other folder that is not empty is refused. Until then the folder under the final name
/// holds UNFINISHED.txt, so that what a killed run leaves says what it is.
class OutputFolder {
  public:
    /// \param path    as the user wrote it
    /// \param tool    "lull-review": who writes it
    /// \param inputs  files that are read: none of them may lie in the folder that is replaced
    /// \throws Error(output) when the folder is someone else's, is being written by another run, or
    ///         cannot be created beside its place, Error(usage) when an input lies in it
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
    /// What an earlier run.log of the folder said is not kept: it names people and paths.
    void forget_earlier_runs() { old_log_.clear(); }
    /// Writes SHA256SUMS (all files but itself and run.log, in order of name) and run.log (what an
    /// earlier run.log of the folder said, then `run`), and puts the folder in its place.
    /// \param run  one line: who ran what when. \throws Error(output)
    void publish(std::string_view run);
    /// As publish, but the folder says UNFINISHED and why, and the next one is begun in its stead:
    /// what was written so far is gone from this object. \throws Error(output)
    void publish_unfinished(std::string_view run, const std::string& why);
    /// Bytes that may still be written beside the folder; none: not known.
    [[nodiscard]] std::optional<std::uint64_t> room_bytes() const;

  private:
    void begin_part();
    void put_in_place(std::string_view run);
    [[noreturn]] void fail(const std::string& what, const std::string& mend) const;
    void look_at_what_is_there();
    void mark_unfinished();
    void unmark() const;
    void force_to_disk() const;
    [[nodiscard]] std::vector<std::string> files() const;
    [[nodiscard]] std::string digest_of(const std::string& name) const;
    void write_digests();

    std::string shown_; ///< as the user wrote it
    std::string tool_;
    std::string final_, part_;
    std::string old_log_; ///< lines of the run.log that is replaced
    std::optional<FolderLock> lock_;
    std::mutex digesting_;
    std::map<std::string, std::string> digests_; ///< by name, of what write() wrote
    std::future<void> settled_;
    bool was_there_ = false;   ///< the folder, be it empty
    bool was_written_ = false; ///< by an earlier run that ended well
    bool stays_unfinished_ = false;
};

} // namespace lull
