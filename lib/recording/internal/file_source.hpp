// SPDX-License-Identifier: GPL-3.0-or-later
//
// A file as a decoder gets to see it.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/header.hpp"
#include "recording/internal/shown_bytes.hpp"

#include <sndfile.h>

#include <cstdint>
#include <memory>
#include <string>

namespace lull {

/// Read through pread, so that a spooled descriptor can be shared by threads.
class FileSource {
  public:
    /// Opens the descriptor, not yet a decoder. \throws Error(input)
    FileSource(std::string path, std::shared_ptr<FileHandle> spooled);
    ~FileSource();
    FileSource(const FileSource&) = delete;
    FileSource& operator=(const FileSource&) = delete;

    [[nodiscard]] std::int64_t size() const { return size_; } ///< of the file itself
    /// Reads the file itself; returns how many bytes there were.
    std::size_t read_at(std::int64_t offset, void* into, std::size_t count) const;
    [[nodiscard]] ReadAt as_function() const;

    /// What decoders get to see from now on. \param bytes  null: the file as it is
    void show(std::shared_ptr<const ShownBytes> bytes);
    [[nodiscard]] std::int64_t shown_size() const;
    /// Reads what is shown, as as_function() reads the file.
    [[nodiscard]] ReadAt shown_as_function() const;

    /// Opens libsndfile on it anew. \throws Error(input) with its reason
    SF_INFO open_decoder();
    [[nodiscard]] SNDFILE* decoder() const { return decoder_; }

  private:
    static sf_count_t length(void* user);
    static sf_count_t seek(sf_count_t offset, int whence, void* user);
    static sf_count_t read(void* into, sf_count_t count, void* user);
    static sf_count_t write(const void* from, sf_count_t count, void* user);
    static sf_count_t tell(void* user);

    std::string path_;
    std::shared_ptr<FileHandle> handle_;
    std::shared_ptr<const ShownBytes> shown_;
    std::int64_t size_ = 0, at_ = 0;
    SNDFILE* decoder_ = nullptr;
    bool named_ = false; ///< opened by its path
};

} // namespace lull
