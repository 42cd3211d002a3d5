// SPDX-License-Identifier: GPL-3.0-or-later
//
// A file as it is presented to a decoder.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/header.hpp"
#include "recording/internal/shown_bytes.hpp"

#include <sndfile.h>

#include <cstdint>
#include <memory>
#include <string>

namespace lull {

/// Reads with pread, so that threads can share a spooled descriptor.
class FileSource {
  public:
    /// Opens the descriptor, but no decoder. \throws Error(input)
    FileSource(std::string path, std::shared_ptr<FileHandle> spooled);
    ~FileSource();
    FileSource(const FileSource&) = delete;
    FileSource& operator=(const FileSource&) = delete;

    [[nodiscard]] std::int64_t size() const { return size_; } ///< of the file itself
    /// Reads the file itself; returns the number of bytes read.
    std::size_t read_at(std::int64_t offset, void* into, std::size_t count) const;
    [[nodiscard]] ReadAt as_function() const;

    /// Sets the bytes that decoders see from now on. \param bytes  null: the file itself
    void show(std::shared_ptr<const ShownBytes> bytes);
    [[nodiscard]] std::int64_t shown_size() const;
    /// Like as_function(), for the bytes that decoders see.
    [[nodiscard]] ReadAt shown_as_function() const;

    /// Opens libsndfile on those bytes. \throws Error(input) with its reason
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
